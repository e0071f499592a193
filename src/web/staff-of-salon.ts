import { DomainError } from '../base/index.js';
import type { Salons, Staff } from '../salon/index.js';

/** One of this salon's people, who may have left. Throws STAFF.NOT_FOUND. */
export async function staffOfSalon(salons: Salons, salonId: string, id: string): Promise<Staff> {
  const staff = (await salons.staff(salonId)).find((one) => one.id === id);
  if (!staff) throw DomainError.notFound('STAFF.NOT_FOUND', 'member of staff');
  return staff;
}
