import { type EntityManager, Not } from 'typeorm';
import { Client } from './entities.js';
import { foldName } from './search-text.js';

export type DoubleReason = 'phone' | 'email' | 'name-and-birthday';

/** A client who may be the same person, and what the two have in common. */
export type PossibleDouble = {
  readonly id: string;
  readonly name: string;
  readonly reasons: readonly DoubleReason[];
};

/** Folded names in any order: "Ada Lovelace" and "lovelace, ada" agree. */
function nameKey(client: Client): string {
  return foldName(`${client.givenName} ${client.familyName}`).split(' ').sort().join(' ');
}

/** Others of the same salon with the same phone, mail address, or name and birthday. */
export async function possibleDoubles(manager: EntityManager, client: Client): Promise<PossibleDouble[]> {
  const other = { salonId: client.salonId, id: Not(client.id) };
  const where = [
    ...(client.phone ? [{ ...other, phone: client.phone }] : []),
    ...(client.email ? [{ ...other, email: client.email }] : []),
    ...(client.birthday ? [{ ...other, birthday: client.birthday }] : []),
  ];
  if (where.length === 0) return [];
  const candidates = await manager.find(Client, { where, order: { id: 'ASC' } });
  return candidates
    .map((candidate) => {
      const reasons: DoubleReason[] = [];
      if (client.phone && candidate.phone === client.phone) reasons.push('phone');
      if (client.email && candidate.email === client.email) reasons.push('email');
      if (
        client.birthday &&
        candidate.birthday === client.birthday &&
        nameKey(candidate) === nameKey(client)
      ) {
        reasons.push('name-and-birthday');
      }
      return { id: candidate.id, name: `${candidate.givenName} ${candidate.familyName}`.trim(), reasons };
    })
    .filter((double) => double.reasons.length > 0);
}
