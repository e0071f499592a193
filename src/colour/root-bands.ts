import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, dateIn, daysBetween, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { GrowthProfiles } from '../cuts/index.js';
import {
  ageProfile,
  describeProfile,
  type GrowthProfile,
  type RootBand,
  rootBand,
  zoneRate,
} from '../engine/growth/index.js';
import { rebookingWindow, type WindowDays } from '../engine/plan/index.js';
import type { Zone } from '../engine/zones.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { ToleranceDto } from './dto.js';
import { RootBandTolerance } from './entities.js';
import { rootsColouredOn } from './roots-coloured-on.js';

const TOLERANCE = { code: 'COLOUR', name: 'root-band tolerance' } as const;
/** Where a root band is seen first (common practice, no source). */
const PARTING: Zone = 'top';
/** As far as the engine projects. */
const FARTHEST_DAYS = 3660;

/** The undyed band of a client on a date. */
export type RootBandToday = {
  readonly on: string;
  readonly colouredOn: string;
  readonly zone: Zone;
  /** Width in mm with its 90 % interval, and the days since the colour. */
  readonly band: RootBand;
  readonly rateMmPerDay: number;
  /** What is known of this zone's growth, in words. */
  readonly knowledge: string;
  /** Where the growth comes from that was assumed before any measurement. */
  readonly source: string;
  readonly toleranceMm: number | null;
  /** Days on which the band has passed the tolerance with probability 10, 50 and 90 %; null without a tolerance. */
  readonly passes: WindowDays | null;
};

/** Root bands, from the same growth profile as every length. Figures only: no date here lets anybody colour. */
@Injectable()
export class RootBands {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly profiles: GrowthProfiles,
  ) {}

  /** The tolerance that was set; undefined when none was. */
  async tolerance(manager: EntityManager, clientId: string): Promise<RootBandTolerance | undefined> {
    return (await manager.findOneBy(RootBandTolerance, { clientId })) ?? undefined;
  }

  /** Sets the client's tolerance. Throws INPUT.INVALID, CLIENT.NOT_FOUND, COLOUR.STALE. */
  async setTolerance(clientId: string, input: unknown, actor: Actor): Promise<RootBandTolerance> {
    const { toleranceMm, zone, expectedVersion } = await validated(ToleranceDto, input);
    return await this.units.run(async (manager) => {
      await requireClient(manager, clientId);
      const before = await this.tolerance(manager, clientId);
      const row = before
        ? await loadForEdit(manager, RootBandTolerance, before.id, TOLERANCE, expectedVersion ?? undefined)
        : manager.create(RootBandTolerance, { id: newId(), clientId });
      row.toleranceMm = toleranceMm;
      row.zone = zone ?? PARTING;
      const saved = await manager.save(row);
      await this.audit.record(manager, actor, {
        action: 'colour.tolerance',
        subjectKind: 'client',
        subjectId: clientId,
        details: { toleranceMm, zone: row.zone },
      });
      return saved;
    });
  }

  /**
   * The band on a date, today unless said; undefined where the roots there were not coloured within ten years before.
   * Band, rate and dates come from one and the same posterior: the profile as it is worth on that date. Throws
   * CLIENT.NOT_FOUND.
   */
  async of(clientId: string, onDate?: string): Promise<RootBandToday | undefined> {
    const { manager } = this.reader;
    const client = await requireClient(manager, clientId);
    const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
    const on = onDate ?? dateIn(salon.zone, this.clock.now());
    const tolerance = await this.tolerance(manager, clientId);
    const zone = tolerance?.zone ?? PARTING;
    const colouredOn = await rootsColouredOn(manager, clientId, zone, on);
    if (colouredOn === undefined || daysBetween(colouredOn, on) > FARTHEST_DAYS) return undefined;
    const stored = await this.profiles.of(manager, clientId);
    const profile = worthOn(stored, on);
    const toleranceMm = tolerance?.toleranceMm ?? null;
    return {
      on,
      colouredOn,
      zone,
      band: rootBand(profile, { colouredOn, on, zone }),
      rateMmPerDay: zoneRate(profile, zone).meanMmPerDay,
      knowledge: describeProfile(stored, zone),
      source: stored.prior.source,
      toleranceMm,
      passes: toleranceMm === null ? null : passing(profile, zone, colouredOn, toleranceMm),
    };
  }
}

/** The profile as it is worth on a date, so that nothing that computes with it lets it age a second time. */
function worthOn(profile: GrowthProfile, on: string): GrowthProfile {
  const { lastUpdatedOn } = profile;
  return {
    ...ageProfile(profile, on),
    lastUpdatedOn: lastUpdatedOn !== null && lastUpdatedOn > on ? lastUpdatedOn : on,
  };
}

function passing(profile: GrowthProfile, zone: Zone, colouredOn: string, mm: number): WindowDays {
  const { earliestDays, dueDays, latestDays, earliestOn, dueOn, latestOn, beyondHorizon } = rebookingWindow({
    profile,
    cutOn: colouredOn,
    zones: [{ zone, leftMm: 0, leftSdMm: 0 }],
    limits: [{ kind: 'root-band', zone, mm, colouredOn }],
  });
  return { earliestDays, dueDays, latestDays, earliestOn, dueOn, latestOn, beyondHorizon };
}

async function requireClient(manager: EntityManager, id: string): Promise<Client> {
  const client = await manager.findOneBy(Client, { id });
  if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
  return client;
}
