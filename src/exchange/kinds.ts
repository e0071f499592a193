import { ZONES, type Zone } from '../engine/zones.js';

export const IMPORT_KINDS = ['clients', 'visits', 'lengths', 'skin-tests', 'appointments'] as const;
export type ImportKind = (typeof IMPORT_KINDS)[number];

export const IMPORT_FORMATS = ['csv', 'vcard', 'calendar'] as const;
export type ImportFormat = (typeof IMPORT_FORMATS)[number];

/** Something a column of a sheet can stand for. */
export type ImportField = {
  readonly key: string;
  readonly label: string;
  /** Headings it goes by, folded; the first ones are the surest. */
  readonly words: readonly string[];
  readonly hint?: string;
  /** Its column holds calendar dates, so that the order of day and month matters. */
  readonly isDate?: true;
};

const NUMBER: ImportField = {
  key: 'number',
  label: 'Client number',
  words: [
    'client number',
    'client no',
    'client id',
    'customer number',
    'customer no',
    'customer id',
    'number',
    'id',
    'uid',
    'kundennummer',
    'kunden nr',
  ],
  hint: 'As the old program or card box numbers her; later sheets can name her by it',
};

const PERSON: readonly ImportField[] = [
  {
    key: 'name',
    label: 'Whole name',
    words: [
      'name',
      'full name',
      'whole name',
      'client name',
      'client',
      'customer',
      'customer name',
      'guest name',
      'kunde',
      'nom complet',
    ],
    hint: '“Ada Lark” or “Lark, Ada”',
  },
  {
    key: 'givenName',
    label: 'Given name',
    words: ['given name', 'first name', 'firstname', 'forename', 'given', 'first', 'vorname', 'prenom'],
  },
  {
    key: 'familyName',
    label: 'Family name',
    words: [
      'family name',
      'last name',
      'lastname',
      'surname',
      'family',
      'last',
      'nachname',
      'familienname',
      'nom',
    ],
  },
  {
    key: 'phone',
    label: 'Phone',
    words: [
      'phone',
      'mobile',
      'phone number',
      'mobile number',
      'mobile phone',
      'cell',
      'cell phone',
      'telephone',
      'tel',
      'telefon',
      'handy',
      'portable',
    ],
  },
  {
    key: 'email',
    label: 'Mail address',
    words: [
      'email',
      'e mail',
      'mail',
      'mail address',
      'email address',
      'e mail address',
      'guest mail',
      'courriel',
    ],
  },
  {
    key: 'birthday',
    label: 'Birthday',
    words: [
      'birthday',
      'date of birth',
      'dob',
      'd o b',
      'birth date',
      'birthdate',
      'born',
      'geburtsdatum',
      'geburtstag',
      'date de naissance',
    ],
    isDate: true,
  },
];

const NOTES: ImportField = {
  key: 'notes',
  label: 'Notes',
  words: ['notes', 'note', 'comment', 'comments', 'remarks', 'description', 'notizen', 'bemerkung'],
};
const SERVICE: ImportField = {
  key: 'service',
  label: 'Service',
  words: ['service', 'services', 'treatment', 'what', 'categories', 'category', 'leistung'],
};
const STYLIST: ImportField = {
  key: 'stylist',
  label: 'Stylist',
  words: ['stylist', 'staff', 'with', 'employee', 'by', 'cut by', 'done by', 'mitarbeiter'],
};
const PRODUCT_LINE: ImportField = {
  key: 'productLine',
  label: 'Product line',
  words: ['product line', 'product', 'colour line', 'color line', 'line', 'brand'],
};
const VISIT_DATE: ImportField = {
  key: 'date',
  label: 'Date',
  words: ['date', 'visit date', 'visited', 'visited on', 'day', 'cut on', 'visit', 'datum'],
  isDate: true,
};

export const ZONE_LABELS: Record<Zone, string> = {
  fringe: 'Fringe',
  top: 'Top',
  crown: 'Crown',
  'left-side': 'Left side',
  'right-side': 'Right side',
  back: 'Back',
  nape: 'Nape',
};

/** What people write for a zone; the first is our own word. */
export const ZONE_NAMES: Record<Zone, readonly string[]> = {
  fringe: ['fringe', 'bangs', 'bang', 'front'],
  top: ['top', 'on top'],
  crown: ['crown', 'vertex'],
  'left-side': ['left side', 'left', 'side left'],
  'right-side': ['right side', 'right', 'side right'],
  back: ['back', 'occipital', 'back of head'],
  nape: ['nape', 'neck', 'neckline'],
};

const ZONE_FIELDS: readonly ImportField[] = ZONES.map((zone) => ({
  key: `zone.${zone}`,
  label: `Length left at: ${ZONE_LABELS[zone].toLowerCase()}`,
  words: ZONE_NAMES[zone].flatMap((name) => [name, `${name} length`, `length ${name}`]),
}));

/** What each kind of sheet can hold, in the order in which it is asked. */
export const IMPORT_FIELDS: Record<ImportKind, readonly ImportField[]> = {
  clients: [
    NUMBER,
    ...PERSON,
    {
      key: 'knownAs',
      label: 'Known as',
      words: ['known as', 'nickname', 'called', 'preferred name', 'rufname'],
    },
    { key: 'language', label: 'Language', words: ['language', 'lang', 'sprache', 'langue'] },
    {
      key: 'stylist',
      label: 'Preferred stylist',
      words: ['preferred stylist', 'stylist', 'staff', 'usual stylist'],
    },
    NOTES,
    {
      key: 'healthNotes',
      label: 'Health notes',
      words: ['health notes', 'allergies', 'allergy', 'health', 'medical', 'medical notes', 'allergien'],
      hint: 'Sealed; never replaced by an import, only added to',
    },
    {
      key: 'headCircumference',
      label: 'Head circumference',
      words: ['head circumference', 'circumference', 'head size', 'head', 'kopfumfang'],
    },
  ],
  visits: [
    NUMBER,
    ...PERSON,
    VISIT_DATE,
    SERVICE,
    STYLIST,
    { key: 'price', label: 'Price', words: ['price', 'paid', 'amount', 'total', 'preis', 'prix'] },
    PRODUCT_LINE,
    NOTES,
  ],
  lengths: [
    NUMBER,
    ...PERSON,
    VISIT_DATE,
    ...ZONE_FIELDS,
    {
      key: 'zone',
      label: 'Zone',
      words: ['zone', 'area', 'section', 'where'],
      hint: 'Where each row is one zone',
    },
    {
      key: 'length',
      label: 'Length left',
      words: ['length', 'length left', 'cut to', 'left at', 'lange', 'longueur'],
      hint: 'Where each row is one zone',
    },
    { key: 'shape', label: 'Name of the shape', words: ['shape', 'cut', 'style', 'haircut', 'formula'] },
    SERVICE,
    STYLIST,
    NOTES,
  ],
  'skin-tests': [
    NUMBER,
    ...PERSON,
    {
      key: 'appliedOn',
      label: 'Applied on',
      words: ['applied on', 'applied', 'date applied', 'test date', 'date', 'tested on', 'patch test date'],
      isDate: true,
    },
    {
      key: 'appliedTime',
      label: 'Applied at',
      words: ['applied at', 'time applied', 'time'],
      hint: 'Without both times a clear result counts only when three days lie between',
    },
    PRODUCT_LINE,
    {
      key: 'result',
      label: 'Result',
      words: ['result', 'outcome', 'reading', 'reaction', 'test result', 'patch test result'],
    },
    {
      key: 'readOn',
      label: 'Read on',
      words: ['read on', 'read', 'date read', 'checked on', 'result date'],
      isDate: true,
    },
    { key: 'readTime', label: 'Read at', words: ['read at', 'time read', 'checked at'] },
    { key: 'place', label: 'Place on the skin', words: ['place', 'site', 'location', 'where'] },
    {
      key: 'makerValidDays',
      label: 'Maker’s validity in days',
      words: ['maker valid days', 'valid days', 'validity', 'validity days'],
    },
    {
      key: 'seen',
      label: 'What was seen',
      words: ['seen', 'what was seen', 'observation', 'notes', 'comment'],
    },
  ],
  appointments: [
    {
      key: 'booking',
      label: 'Booking number',
      words: ['booking number', 'booking id', 'appointment id', 'appointment number', 'uid', 'id'],
    },
    { ...NUMBER, words: NUMBER.words.filter((word) => !['id', 'uid', 'number'].includes(word)) },
    ...PERSON.map((field) =>
      field.key === 'name' ? { ...field, words: [...field.words, 'summary', 'title', 'subject'] } : field,
    ),
    {
      key: 'start',
      label: 'Date and time of the start',
      words: ['start', 'starts', 'starts at', 'date and time', 'datetime', 'when', 'beginning'],
      isDate: true,
    },
    { key: 'date', label: 'Date', words: ['date', 'day', 'start date', 'datum'], isDate: true },
    { key: 'time', label: 'Time', words: ['time', 'start time', 'at', 'uhrzeit', 'heure'] },
    {
      key: 'end',
      label: 'Date and time of the end',
      words: ['end', 'ends', 'ends at', 'end date and time'],
      isDate: true,
    },
    { key: 'minutes', label: 'Minutes', words: ['minutes', 'duration', 'length', 'mins', 'dauer'] },
    SERVICE,
    STYLIST,
    PRODUCT_LINE,
    NOTES,
  ],
};

/** Which kinds of sheet a format can hold. */
export const FORMATS_OF: Record<ImportKind, readonly ImportFormat[]> = {
  clients: ['csv', 'vcard'],
  visits: ['csv'],
  lengths: ['csv'],
  'skin-tests': ['csv'],
  appointments: ['csv', 'calendar'],
};
