import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { daysBetween } from '../base/index.js';
import { Client } from '../clients/index.js';
import {
  type GrowthProfile,
  growthPrior,
  initialProfile,
  observeVisit,
  type StatedByClient,
} from '../engine/growth/index.js';
import { newId } from '../store/index.js';
import { GrowthRecord, type ZoneLength } from './entities.js';
import type { MeasurementInput } from './visit.input.js';

/** Error of a measurement by tool, one standard deviation in mm: a hand's is about 5 (common practice, no source). */
export const MEASURING_SD_MM = { hand: 5, ruler: 3, guard: 1 } as const;

export type Lesson = {
  readonly measurement: MeasurementInput;
  /** What the profile made of it, in words; null where there is nothing to compare with. */
  readonly note: string | null;
  /** The length cannot have grown from what was left: from here on the measured one counts. */
  readonly startsAnew: boolean;
};

/** What is known of a client's own growth: learned from arrival measurements, kept beside the client. */
@Injectable()
export class GrowthProfiles {
  async of(manager: EntityManager, clientId: string): Promise<GrowthProfile> {
    return await this.ofLoaded(manager, clientId, await manager.findOneBy(Client, { id: clientId }));
  }

  /** As `of`, for whoever has loaded the client. */
  async ofLoaded(
    manager: EntityManager,
    clientId: string,
    client: Pick<Client, 'statedHair'> | null,
  ): Promise<GrowthProfile> {
    const record = await manager.findOneBy(GrowthRecord, { clientId });
    if (record) return record.profile;
    return initialProfile(growthPrior((client?.statedHair ?? {}) as StatedByClient));
  }

  /**
   * Teaches the profile what was measured on arrival, against the lengths the earlier visit left.
   */
  async learn(
    manager: EntityManager,
    clientId: string,
    left: readonly ZoneLength[],
    measurements: readonly MeasurementInput[],
    on: string,
  ): Promise<Lesson[]> {
    const comparable = measurements.flatMap((measurement) => {
      const before = left.find(({ zone }) => zone === measurement.zone);
      const days = before ? daysBetween(before.leftOn, on) : 0;
      if (!before || days < 1) return [];
      const { zone, lengthMm, tool } = measurement;
      const { leftMm, leftSdMm } = before;
      return [
        { zone, leftMm, leftSdMm, days, measuredMm: lengthMm, measuredSdMm: MEASURING_SD_MM[tool], on },
      ];
    });
    const visit = observeVisit(await this.of(manager, clientId), comparable);
    if (visit.zones.some(({ verdict }) => verdict !== 'set-aside')) {
      await this.keep(manager, clientId, visit.profile);
    }
    return measurements.map((measurement): Lesson => {
      const lesson = visit.zones.find(({ zone }) => zone === measurement.zone);
      return {
        measurement,
        note: lesson?.note ?? null,
        startsAnew: !lesson || lesson.verdict === 'set-aside',
      };
    });
  }

  private async keep(manager: EntityManager, clientId: string, profile: GrowthProfile): Promise<void> {
    const record =
      (await manager.findOneBy(GrowthRecord, { clientId })) ??
      manager.create(GrowthRecord, { id: newId(), clientId });
    record.profile = profile;
    await manager.save(GrowthRecord, record);
  }
}
