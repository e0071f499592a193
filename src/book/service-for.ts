import { ZONES, type Zone } from '../engine/zones.js';
import type { Service } from '../salon/index.js';

/** The cheapest tidy of some zones on offer that covers all these, else the cheapest full cut; undefined when there is neither. */
export function serviceFor(services: readonly Service[], zones: readonly Zone[]): Service | undefined {
  const byPrice = services.filter(({ active }) => active).sort((a, b) => a.priceMinor - b.priceMinor);
  const covers = (service: Service) =>
    service.kind === 'tidy' &&
    service.zones.length < ZONES.length &&
    zones.every((zone) => service.zones.includes(zone));
  return byPrice.find(covers) ?? byPrice.find(({ kind }) => kind === 'full-cut');
}
