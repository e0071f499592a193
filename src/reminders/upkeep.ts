import { Inject, Injectable } from '@nestjs/common';
import { Between, type EntityManager, IsNull } from 'typeorm';
import { addDays, Clock, dateIn } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import { SKIN_TEST_WAIT_MS, SkinTest } from '../skin-tests/index.js';
import { Reader, SETTINGS, type Settings, Turns, UnitOfWork } from '../store/index.js';
import { channelsOf } from './channels.js';
import { dueShapes, shapeRow } from './due-shapes.js';
import { Message } from './entities.js';
import { MessageLeases } from './message-leases.js';
import { NudgeExclusions } from './nudge-exclusions.js';
import { type OwedRow, oweRows } from './owe-rows.js';
import { afterQuiet } from './quiet-hours.js';
import { reachOf } from './reach.js';
import { type Rules, rulesOf } from './rules.js';
import { skinTestLacking } from './skin-test-lacking.js';

const DAY_MS = 86_400_000;
const EVERY_MS = 60_000;
/** A window that closed longer ago is no news to anybody. */
export const FORGOTTEN_DAYS = 28;
const SHAPES_AT_A_TIME = 500;
/** How long before a colour appointment its missing skin test is written about. */
const TEST_NEEDED_MS = 7 * DAY_MS;

/**
 * Owes what no booking causes but the passing of time: shapes that have come due, skin tests to be read, skin
 * tests that a booked colour lacks; and what was unreachable and no longer is. Whichever process has the turn does it; two
 * that did it at once would owe nothing twice.
 */
@Injectable()
export class Upkeep {
  private doneAt = Number.NEGATIVE_INFINITY;
  private readonly channels: ReturnType<typeof channelsOf>;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly leases: MessageLeases,
    private readonly exclusions: NudgeExclusions,
    private readonly turns: Turns,
    @Inject(SETTINGS) settings: Settings,
  ) {
    this.channels = channelsOf(settings);
  }

  /** Does it, unless this or another process did within the last minute. */
  async nowAndThen(): Promise<void> {
    const now = this.clock.now();
    if (now - this.doneAt < EVERY_MS) return;
    this.doneAt = now;
    if (await this.turns.take('upkeep', EVERY_MS)) await this.run();
  }

  async run(): Promise<void> {
    await this.leases.revive();
    const now = this.clock.now();
    const { manager } = this.reader;
    for (const salon of await manager.find(Salon)) {
      const rules = await rulesOf(manager, salon);
      const rows = [
        ...(await this.shapes(salon, rules, now)),
        ...(await this.testsToRead(salon, rules, now)),
        ...(await this.testsNeeded(salon, rules, now)),
      ];
      if (rows.length > 0) await this.units.run((writer) => oweRows(writer, rows, now));
    }
  }

  private async shapes(salon: Salon, rules: Rules, now: number): Promise<OwedRow[]> {
    if (rules.nudgeMost === 0) return [];
    const today = dateIn(salon.zone, now);
    const shapes = await dueShapes(
      this.reader.manager,
      {
        salonId: salon.id,
        until: today,
        since: addDays(today, -FORGOTTEN_DAYS),
        rules,
        channels: this.channels,
        exclusions: this.exclusions,
        limit: SHAPES_AT_A_TIME,
      },
      now,
    );
    const dueAt = afterQuiet(rules, salon.zone, now);
    return shapes.map((shape) => shapeRow(salon.id, shape, dueAt));
  }

  /** Owed a day ahead, due when the 48 hours are up, by day. */
  private async testsToRead(salon: Salon, rules: Rules, now: number): Promise<OwedRow[]> {
    const { manager } = this.reader;
    const tests = await manager
      .createQueryBuilder(SkinTest, 'test')
      .innerJoin(Client, 'client', 'client.id = test.clientId')
      .where({ result: IsNull(), appliedAt: Between(now - SKIN_TEST_WAIT_MS - 2 * DAY_MS, now - DAY_MS) })
      .andWhere('client.salonId = :salonId', { salonId: salon.id })
      .andWhere(notYet(manager, "'skin-test-reading:' || test.id"))
      .getMany();
    return await this.reachable(
      tests.map(({ id, clientId, appliedAt }) => ({
        dedupeKey: `skin-test-reading:${id}`,
        salonId: salon.id,
        clientId,
        aboutId: id,
        kind: 'skin-test-reading' as const,
        dueAt: afterQuiet(rules, salon.zone, Math.max(now, appliedAt + SKIN_TEST_WAIT_MS)),
      })),
    );
  }

  /** Owed in the week before the colour, while there is time for the 48 hours. */
  private async testsNeeded(salon: Salon, rules: Rules, now: number): Promise<OwedRow[]> {
    const { manager } = this.reader;
    const dueAt = afterQuiet(rules, salon.zone, now);
    const appointments = await manager
      .createQueryBuilder(Appointment, 'a')
      .innerJoin('service', 'service', `service.id = a.serviceId AND service.kind = 'colour'`)
      .where({
        salonId: salon.id,
        state: 'booked',
        startsAt: Between(dueAt + SKIN_TEST_WAIT_MS, now + TEST_NEEDED_MS),
      })
      .andWhere(notYet(manager, "'skin-test-needed:' || a.id || ':' || a.moves"))
      .getMany();
    const lacking: Appointment[] = [];
    for (const appointment of appointments) {
      if (await skinTestLacking(manager, appointment, now)) lacking.push(appointment);
    }
    return await this.reachable(
      lacking.map(({ id, moves, clientId }) => ({
        dedupeKey: `skin-test-needed:${id}:${moves}`,
        salonId: salon.id,
        clientId,
        appointmentId: id,
        kind: 'skin-test-needed' as const,
        dueAt,
      })),
    );
  }

  /** Those that can be told; a skin test is the client's own business, so that it needs no yes. */
  private async reachable(rows: readonly Omit<OwedRow, 'channel'>[]): Promise<OwedRow[]> {
    const reached: OwedRow[] = [];
    for (const row of rows) {
      const reach = await reachOf(this.reader.manager, row.clientId, 'appointment', this.channels);
      if ('address' in reach) reached.push({ ...row, channel: reach.channel, address: reach.address });
    }
    return reached;
  }
}

/** SQL that is true where nothing is owed by this key yet. */
function notYet(manager: EntityManager, key: string): string {
  const owed = manager.createQueryBuilder(Message, 'm').select('1').where(`m.dedupeKey = ${key}`).getQuery();
  return `NOT EXISTS (${owed})`;
}
