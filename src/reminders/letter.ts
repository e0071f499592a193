import { parsePhoneNumberFromString } from 'libphonenumber-js';

/** What a message about an appointment is made of. Nothing about health, hair or notes belongs in here. */
export type LetterFacts = {
  readonly clientName: string;
  readonly salonName: string;
  /** As many lines as the salon wrote. */
  readonly salonAddress: string;
  /** E.164. */
  readonly salonPhone: string;
  readonly serviceName: string;
  readonly stylistName: string;
  readonly startsAt: number;
  readonly endsAt: number;
  /** IANA zone of the salon. */
  readonly zone: string;
  /** BCP 47, the salon's. */
  readonly locale: string;
};

/** The names a template may use. */
export type LetterView = {
  readonly language: string;
  readonly clientName: string;
  readonly salonName: string;
  readonly salonAddress: string;
  readonly salonPhone: string;
  readonly salonPhoneLink: string;
  readonly serviceName: string;
  readonly stylistName: string;
  readonly date: string;
  readonly time: string;
  readonly minutes: number;
};

/** The template's language with the salon's region, so that an English text for France has no French month in it. */
function localeFor(language: string, locale: string): string {
  const { region } = new Intl.Locale(locale);
  return new Intl.Locale(language, region ? { region } : {}).toString();
}

/** Facts as they are read: date and time in the salon's zone, written as the template's language writes them. */
export function letterView(facts: LetterFacts, language: string): LetterView {
  const locale = localeFor(language, facts.locale);
  const written = (options: Intl.DateTimeFormatOptions) =>
    new Intl.DateTimeFormat(locale, { ...options, timeZone: facts.zone }).format(facts.startsAt);

  return {
    language,
    clientName: facts.clientName,
    salonName: facts.salonName,
    salonAddress: facts.salonAddress,
    salonPhone: parsePhoneNumberFromString(facts.salonPhone)?.formatInternational() ?? facts.salonPhone,
    salonPhoneLink: facts.salonPhone,
    serviceName: facts.serviceName,
    stylistName: facts.stylistName,
    date: written({ weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' }),
    time: written({ hour: 'numeric', minute: '2-digit' }),
    minutes: Math.round((facts.endsAt - facts.startsAt) / 60_000),
  };
}
