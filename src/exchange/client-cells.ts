import { toE164 } from '../base/index.js';
import { splitName } from './read-values.js';
import { type RowCells, shown } from './row-cells.js';

/** The person a row names, as far as it says. */
export type NamedClient = {
  readonly number: string;
  readonly givenName: string;
  readonly familyName: string;
  /** E.164. */
  readonly phone: string | undefined;
  readonly email: string | undefined;
  /** 'YYYY-MM-DD'. */
  readonly birthday: string | undefined;
};

/** Reads who a row is about; what cannot be read is noted as wrong. */
export function namedClient(row: RowCells, phoneRegion: string): NamedClient {
  const whole = splitName(row.text('name'));
  const givenName = row.text('givenName') || whole.givenName;
  const familyName = row.text('familyName') || (row.text('givenName') ? '' : whole.familyName);
  const typedPhone = row.text('phone');
  const phone = typedPhone === '' ? undefined : toE164(typedPhone, phoneRegion);
  if (typedPhone !== '' && phone === undefined) {
    row.wrong(
      'phone',
      `${shown(typedPhone)} cannot be a phone number. Check the digits; start numbers from abroad with + and the country code.`,
    );
  }
  return {
    number: row.text('number'),
    givenName,
    familyName,
    phone,
    email: row.text('email').toLowerCase() || undefined,
    birthday: row.date('birthday'),
  };
}

export function whoOf({ givenName, familyName, number, phone, email }: NamedClient): string {
  const name = `${givenName} ${familyName}`.trim();
  return (name || (number && `number ${number}`) || phone || email || '').slice(0, 120);
}
