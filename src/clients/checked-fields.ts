import type { EntityManager } from 'typeorm';
import { DomainError, dateIn, type FieldProblem, toE164 } from '../base/index.js';
import { type Salon, Staff } from '../salon/index.js';
import type { ClientChangeDto } from './dto.js';
import type { Client } from './entities.js';

type Given = Partial<Omit<ClientChangeDto, 'expectedVersion'>>;

const OLDEST_YEARS = 120;

function birthdayProblem(birthday: string, today: string): string | undefined {
  if (birthday > today) return 'Birthday: this date is still to come. Check the year.';
  const oldest = `${String(Number(today.slice(0, 4)) - OLDEST_YEARS).padStart(4, '0')}${today.slice(4)}`;
  if (birthday < oldest) return `Birthday: this is more than ${OLDEST_YEARS} years ago. Check the year.`;
  return undefined;
}

/**
 * The columns that `given` sets, in the form they are stored in; what is undefined is left out.
 * Throws CLIENT.INVALID naming phone, birthday or preferred stylist where they cannot be.
 */
export async function checkedFields(
  manager: EntityManager,
  salon: Salon,
  given: Given,
  now: number,
): Promise<Partial<Client>> {
  const problems: FieldProblem[] = [];
  const fields: Partial<Client> = {};

  if (given.givenName !== undefined) fields.givenName = given.givenName;
  if (given.familyName !== undefined) fields.familyName = given.familyName ?? '';
  if (given.notes !== undefined) fields.notes = given.notes ?? '';
  if (given.healthNotes !== undefined) fields.healthNotes = given.healthNotes ?? '';
  if (given.email !== undefined) fields.email = given.email?.toLowerCase() ?? null;
  if (given.knownAs !== undefined) fields.knownAs = given.knownAs;
  if (given.language !== undefined) fields.language = given.language;
  if (given.headCircumferenceMm !== undefined) fields.headCircumferenceMm = given.headCircumferenceMm;
  if (given.whorlSide !== undefined) fields.whorlSide = given.whorlSide;
  if (given.partingSide !== undefined) fields.partingSide = given.partingSide;
  if (given.statedHair !== undefined) fields.statedHair = stated(given.statedHair);

  if (given.phone !== undefined) {
    fields.phone = given.phone === null ? null : (toE164(given.phone, salon.phoneRegion) ?? null);
    if (given.phone !== null && fields.phone === null) {
      problems.push({
        field: 'phone',
        message:
          'Phone: this cannot be a phone number. Check the digits; start numbers from abroad with + and the country code.',
      });
    }
  }
  if (given.birthday !== undefined) {
    fields.birthday = given.birthday;
    const problem = given.birthday && birthdayProblem(given.birthday, dateIn(salon.zone, now));
    if (problem) problems.push({ field: 'birthday', message: problem });
  }
  if (given.preferredStaffId !== undefined) {
    fields.preferredStaffId = given.preferredStaffId;
    if (
      given.preferredStaffId !== null &&
      !(await manager.existsBy(Staff, { id: given.preferredStaffId, salonId: salon.id }))
    ) {
      problems.push({
        field: 'preferredStaffId',
        message: 'Preferred stylist: there is no such person in this salon. Choose one of the list, or none.',
      });
    }
  }

  if (problems.length > 0) {
    throw new DomainError('invalid', 'CLIENT.INVALID', problems.map((p) => p.message).join(' '), problems);
  }
  return fields;
}

function stated(hair: Given['statedHair']): Client['statedHair'] {
  const answers = Object.entries(hair ?? {}).filter(([, value]) => value !== null && value !== undefined);
  return answers.length === 0 ? null : Object.fromEntries(answers);
}
