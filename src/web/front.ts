import { Injectable } from '@nestjs/common';
import { Clock, DomainError, dateIn } from '../base/index.js';
import type { Principal } from '../identity/index.js';
import { type Salon, Salons, type Service, type Staff } from '../salon/index.js';
import type { Spoken } from './days.js';
import type { Ruler } from './lengths.js';
import type { Option } from './words.js';

/** What almost every page starts from. */
export type Setting = {
  readonly salon: Salon;
  readonly now: number;
  /** Today in the salon's zone. */
  readonly today: string;
  /** Who is signed in, as one of the salon's people; null for an account that is nobody's. */
  readonly me: Staff | null;
  readonly ruler: Ruler;
  readonly spoken: Spoken;
};

const USUAL_FINGER_MM = 18;

@Injectable()
export class Front {
  constructor(
    private readonly salons: Salons,
    private readonly clock: Clock,
  ) {}

  async setting(principal: Principal): Promise<Setting> {
    const [salon, me] = await Promise.all([this.salon(principal), this.salons.staffOf(principal.accountId)]);
    const now = this.clock.now();
    const today = dateIn(salon.zone, now);
    return {
      salon,
      now,
      today,
      spoken: { locale: salon.locale, today },
      me: me?.salonId === salon.id ? me : null,
      ruler: { units: salon.units, fingerWidthMm: me?.fingerWidthMm ?? USUAL_FINGER_MM },
    };
  }

  /** Where somebody could choose and has not, the first by name: a page is no place for a refusal. */
  private async salon(principal: Principal): Promise<Salon> {
    try {
      return await this.salons.of(principal);
    } catch (error) {
      const isChoice = error instanceof DomainError && /^SALON\.(SEVERAL|NOT_FOUND)$/.test(error.code);
      const [first] = isChoice ? await this.salons.openTo(principal) : [];
      if (!first) throw error;
      return first;
    }
  }

  /** Those who cut hair here now. */
  async stylists(salonId: string): Promise<Staff[]> {
    return (await this.salons.staff(salonId)).filter(({ active, cutsHair }) => active && cutsHair);
  }

  /** What can be booked now. */
  async services(salonId: string): Promise<Service[]> {
    return (await this.salons.services(salonId)).filter(({ active }) => active);
  }
}

export function staffOptions(staff: readonly Staff[]): Option[] {
  return staff.map(({ id, name }) => ({ value: id, label: name }));
}

export function serviceOptions(services: readonly Service[]): Option[] {
  return services.map(({ id, name, minutes }) => ({ value: id, label: `${name} · ${minutes} min` }));
}
