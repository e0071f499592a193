import { Inject, Injectable } from '@nestjs/common';
import { type EntityManager, In, Like, MoreThan } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, dateInWords } from '../base/index.js';
import { Appointment, aheadOf } from '../book/index.js';
import { type Channel, Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { ShapeWindow } from '../rebooking/index.js';
import { Salon } from '../salon/index.js';
import { SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { channelsOf } from './channels.js';
import { shapeRow } from './due-shapes.js';
import { MESSAGE_KINDS, Message } from './entities.js';
import { KINDS } from './kinds.js';
import { NudgeExclusions } from './nudge-exclusions.js';
import { oweRows } from './owe-rows.js';
import { afterQuiet } from './quiet-hours.js';
import { reachOf } from './reach.js';
import { type Rules, rulesOf } from './rules.js';

const NUDGES = MESSAGE_KINDS.filter((kind) => KINDS[kind].purpose === 'rebooking');
const WEEK_DAYS = 7;
const DAY_MS = 86_400_000;

export type Invitation = {
  readonly channel: Channel;
  /** When it goes: at once, or when the quiet hours are over. Milliseconds since 1970 in UTC. */
  readonly dueAt: number;
};

/** An invitation to one client whose shape is going, by a press at the desk; `Runs` invites many. */
@Injectable()
export class Invitations {
  /** The channels that are set up. */
  readonly channels: readonly Channel[];

  constructor(
    private readonly units: UnitOfWork,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly exclusions: NudgeExclusions,
    @Inject(SETTINGS) settings: Settings,
  ) {
    this.channels = channelsOf(settings);
  }

  /**
   * Owes an invitation, for as often as the salon's rules allow. Throws CLIENT.NOT_FOUND; INVITE.NO_SHAPE without a
   * recorded shape, INVITE.BOOKED, INVITE.LEFT_OUT, INVITE.REFUSED unless she said yes and has an address, INVITE.UNDER_WAY while one
   * waits to be sent, INVITE.ENOUGH with the day from which another may go.
   */
  async invite(clientId: string, actor: Actor): Promise<Invitation> {
    const now = this.clock.now();
    return await this.units.run(async (manager) => {
      const client = await manager.findOneBy(Client, { id: clientId });
      if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
      const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
      const window = await manager.findOneBy(ShapeWindow, { clientId });
      if (!window)
        throw refused('NO_SHAPE', 'There is no rebooking window to write about: record a cut first.');
      await requireUnbooked(manager, clientId, now);
      if (await this.exclusions.leavesOut(manager, salon.id, clientId)) {
        throw refused(
          'LEFT_OUT',
          'She is among those left without invitations, so that their use can be told.',
        );
      }
      const reach = await reachOf(manager, clientId, 'rebooking', this.channels);
      if (!('address' in reach)) {
        throw refused(
          'REFUSED',
          reach.unreachable === 'refused'
            ? 'She did not say yes to invitations. Ring her, or ask her at her next visit.'
            : 'There is no address to write to. Ring her, or add one to her card.',
        );
      }
      const rules = await rulesOf(manager, salon);
      await requireWelcome(manager, clientId, rules, salon, now);
      const { formulaId } = window;
      const shape = { clientId, formulaId, channel: reach.channel, address: reach.address };
      const row = shapeRow(salon.id, shape, afterQuiet(rules, salon.zone, now));
      const earlier = await manager.countBy(Message, { dedupeKey: Like(`${row.dedupeKey}%`) });
      const dedupeKey = earlier === 0 ? row.dedupeKey : `${row.dedupeKey}:${earlier + 1}`;
      await oweRows(manager, [{ ...row, dedupeKey }], now);
      await this.audit.record(manager, actor, {
        action: 'message.invite',
        subjectKind: 'client',
        subjectId: clientId,
      });
      return { channel: reach.channel, dueAt: row.dueAt };
    });
  }
}

async function requireUnbooked(manager: EntityManager, clientId: string, now: number): Promise<void> {
  const isBooked = await manager.existsBy(Appointment, aheadOf(clientId, now));
  if (isBooked) throw refused('BOOKED', 'She has an appointment by now: there is nothing to invite her to.');
}

async function requireWelcome(
  manager: EntityManager,
  clientId: string,
  { nudgeMost, nudgeWeeks }: Rules,
  { zone, locale }: Salon,
  now: number,
): Promise<void> {
  const nudge = { clientId, kind: In(NUDGES) };
  if (await manager.existsBy(Message, { ...nudge, state: 'owed' })) {
    throw refused('UNDER_WAY', 'An invitation to her is on its way already.');
  }
  if (nudgeMost === 0) throw refused('ENOUGH', 'The salon sends no invitations: see when messages go.');
  const since = now - nudgeWeeks * WEEK_DAYS * DAY_MS;
  const lately = await manager.find(Message, {
    where: { ...nudge, state: 'sent', sentAt: MoreThan(since) },
    order: { sentAt: 'DESC' },
    take: nudgeMost,
  });
  const oldest = lately[nudgeMost - 1]?.sentAt;
  if (oldest == null) return;
  const from = addDays(dateIn(zone, oldest), nudgeWeeks * WEEK_DAYS + 1);
  throw refused(
    'ENOUGH',
    `She was written to often enough of late. Another invitation may go from ${dateInWords(from, locale)}.`,
  );
}

function refused(code: string, words: string): DomainError {
  return new DomainError('refused', `INVITE.${code}`, words);
}
