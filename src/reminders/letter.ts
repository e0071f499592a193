import { parsePhoneNumberFromString } from 'libphonenumber-js';
import { instantAt } from '../base/index.js';

/** What a message is made of; which of the later ones are there depends on its kind. */
export type LetterFacts = {
  readonly clientName: string;
  readonly salonName: string;
  /** As many lines as the salon wrote. */
  readonly salonAddress: string;
  /** E.164. */
  readonly salonPhone: string;
  /** IANA zone of the salon. */
  readonly zone: string;
  /** BCP 47, the salon's. */
  readonly locale: string;
  /** BCP 47 the client is written to in, where it is not the salon's. */
  readonly language?: string | null;
  readonly unsubscribeUrl?: string;
  readonly serviceName?: string;
  readonly stylistName?: string;
  /** Start of the appointment, or the moment a skin test may be read from. */
  readonly startsAt?: number;
  readonly endsAt?: number;
  /** Last moment at which a skin test can be applied. */
  readonly testBy?: number;
  /** When the offer of a time runs out. */
  readonly offerUntil?: number;
  /** The client's private link, where this kind of message has one. */
  readonly linkUrl?: string;
  readonly dueOn?: string;
  readonly latestOn?: string;
};

/** The names a template may use, those of `KINDS` for the kind; a name without a fact is not there. */
export type LetterView = Readonly<Record<string, string | number>>;

const locales = new Map<string, string>();

/** The template's language with the salon's region, so that an English text for France has no French month in it. */
function localeFor(language: string, locale: string): string {
  const key = `${language} ${locale}`;
  let made = locales.get(key);
  if (made === undefined) {
    const { region } = new Intl.Locale(locale);
    made = new Intl.Locale(language, region ? { region } : {}).toString();
    locales.set(key, made);
  }
  return made;
}

const LONG = { weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' } as const;
const SHORT = { weekday: 'short', day: 'numeric', month: 'short' } as const;
const CLOCK = { hour: 'numeric', minute: '2-digit' } as const;
type Style = typeof LONG | typeof SHORT | typeof CLOCK;

/** Making a formatter takes longer than all the rest of a letter. */
const formatters = new Map<string, Intl.DateTimeFormat>();

function written(style: Style, instant: number, locale: string, timeZone: string): string {
  const key = `${Object.keys(style).join()} ${locale} ${timeZone}`;
  let formatter = formatters.get(key);
  if (!formatter) {
    formatter = new Intl.DateTimeFormat(locale, { ...style, timeZone });
    formatters.set(key, formatter);
  }
  return formatter.format(instant);
}

const phones = new Map<string, string>();

function asPeopleWrite(phone: string): string {
  let words = phones.get(phone);
  if (words === undefined) {
    words = parsePhoneNumberFromString(phone)?.formatInternational() ?? phone;
    phones.set(phone, words);
  }
  return words;
}

/** Facts as they are read: date and time in the salon's zone, written as the template's language writes them. */
export function letterView(facts: LetterFacts, language: string): LetterView {
  const { zone, startsAt, endsAt, testBy, offerUntil, dueOn, latestOn } = facts;
  const locale = localeFor(language, facts.locale);
  const at = (style: Style, instant: number) => written(style, instant, locale, zone);
  const on = (style: Style, date: string) => at(style, instantAt(zone, date, '12:00'));
  return {
    language,
    clientName: facts.clientName,
    salonName: facts.salonName,
    salonAddress: facts.salonAddress,
    salonPhone: asPeopleWrite(facts.salonPhone),
    salonPhoneLink: facts.salonPhone,
    unsubscribeUrl: facts.unsubscribeUrl ?? '',
    linkUrl: facts.linkUrl ?? '',
    ...(facts.serviceName !== undefined && { serviceName: facts.serviceName }),
    ...(facts.stylistName !== undefined && { stylistName: facts.stylistName }),
    ...(startsAt !== undefined && {
      date: at(LONG, startsAt),
      shortDate: at(SHORT, startsAt),
      time: at(CLOCK, startsAt),
    }),
    ...(startsAt !== undefined &&
      endsAt !== undefined && { minutes: Math.round((endsAt - startsAt) / 60_000) }),
    ...(testBy !== undefined && {
      testByDate: at(LONG, testBy),
      testByShort: `${at(SHORT, testBy)}, ${at(CLOCK, testBy)}`,
      testByTime: at(CLOCK, testBy),
    }),
    ...(offerUntil !== undefined && {
      untilDate: at(LONG, offerUntil),
      untilShort: `${at(SHORT, offerUntil)}, ${at(CLOCK, offerUntil)}`,
      untilTime: at(CLOCK, offerUntil),
    }),
    ...(dueOn !== undefined && { dueDate: on(LONG, dueOn), dueShort: on(SHORT, dueOn) }),
    ...(latestOn !== undefined && { latestDate: on(LONG, latestOn) }),
  };
}
