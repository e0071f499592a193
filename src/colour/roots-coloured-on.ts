import type { EntityManager } from 'typeorm';
import type { Zone } from '../engine/zones.js';
import { ColourFormula } from './entities.js';

/**
 * The newest day, up to `on` where it is given, on which the roots of a zone were coloured; undefined when they never
 * were. A colour on the lengths alone narrows no root band.
 */
export async function rootsColouredOn(
  manager: EntityManager,
  clientId: string,
  zone: Zone,
  on?: string,
): Promise<string | undefined> {
  const formulas = await manager.find(ColourFormula, {
    where: { clientId },
    order: { colouredOn: 'DESC', id: 'DESC' },
  });
  return formulas.find(
    ({ place, zones, colouredOn }) =>
      place !== 'lengths' && zones.includes(zone) && (on === undefined || colouredOn <= on),
  )?.colouredOn;
}
