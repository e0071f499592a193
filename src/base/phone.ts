import { type CountryCode, isSupportedCountry, parsePhoneNumberFromString } from 'libphonenumber-js';

/**
 * A phone number as people write it, to E.164 ("+442079460123"), or undefined when it cannot be one.
 * `region` is the two-letter country whose national numbers need no prefix.
 */
export function toE164(text: string, region: string): string | undefined {
  const country: CountryCode | undefined = isSupportedCountry(region) ? region : undefined;
  const number = parsePhoneNumberFromString(text, {
    ...(country && { defaultCountry: country }),
    extract: false,
  });
  return number?.isPossible() ? number.number : undefined;
}
