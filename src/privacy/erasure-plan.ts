/**
 * What erasing a client does to each table that can hold rows of hers. Rows of tables that are not named here are
 * deleted. Kept are those that the salon's sums are made of: how many visits, at what price, with whom, in which
 * shape, whether somebody came back. Of these every personal column is emptied; `counts` lists the other columns of
 * text, which say nothing of a person.
 */
export type Kept = {
  readonly empty: Readonly<Record<string, string | null | boolean | number>>;
  readonly counts: readonly string[];
};

export const ERASED_NAME = 'Erased';

export const KEPT: Readonly<Record<string, Kept>> = {
  client: {
    empty: {
      givenName: ERASED_NAME,
      familyName: '',
      knownAs: null,
      language: null,
      searchText: '',
      phone: null,
      email: null,
      birthday: null,
      notes: '',
      healthNotes: '',
      headCircumferenceMm: null,
      whorlSide: null,
      partingSide: null,
      statedHair: null,
    },
    counts: [],
  },
  appointment: { empty: { notes: '' }, counts: ['state', 'steps', 'resources', 'alsoServiceIds'] },
  claim: { empty: {}, counts: [] },
  booking_series: { empty: { name: '' }, counts: [] },
  visit: {
    empty: { notes: '' },
    counts: [
      'productLine',
      'visitOn',
      'suggestedEarliestOn',
      'suggestedDueOn',
      'suggestedLatestOn',
      'nextOn',
      'firstOn',
      'shape',
    ],
  },
  cut_formula: { empty: { notes: '' }, counts: ['name', 'cutOn'] },
  cut_step: {
    empty: { notes: '', guideAt: null, tool: null },
    counts: ['zone', 'method', 'section', 'guide', 'geometry', 'overDirectedTo', 'technique'],
  },
  zone_length: { empty: {}, counts: ['zone', 'leftOn'] },
  zone_link: { empty: {}, counts: ['zone', 'neighbour', 'kind'] },
  hold_limit: { empty: {}, counts: ['kind', 'zone', 'against', 'by', 'landmark'] },
  message: {
    empty: { address: null, subject: null, body: null, lastError: null, language: null },
    counts: ['dedupeKey', 'kind', 'channel', 'state', 'reason', 'sentBy', 'template'],
  },
};
