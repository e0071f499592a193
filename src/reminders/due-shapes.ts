import type { EntityManager } from 'typeorm';
import { Appointment } from '../book/index.js';
import { type Channel, Client, Consent } from '../clients/index.js';
import { ShapeWindow } from '../rebooking/index.js';
import { MESSAGE_KINDS, Message } from './entities.js';
import { KINDS } from './kinds.js';
import type { NudgeExclusions } from './nudge-exclusions.js';
import type { OwedRow } from './owe-rows.js';
import type { Rules } from './rules.js';

export type DueShape = {
  readonly clientId: string;
  readonly formulaId: string;
  readonly channel: Channel;
  readonly address: string;
};

type Asked = {
  readonly salonId: string;
  /** Windows that open by then, 'YYYY-MM-DD'. */
  readonly until: string;
  /** Windows that closed before then are forgotten about. */
  readonly since: string;
  readonly rules: Pick<Rules, 'nudgeMost' | 'nudgeWeeks'>;
  readonly channels: readonly Channel[];
  readonly exclusions: NudgeExclusions;
  readonly limit: number;
};

const WEEK_MS = 7 * 86_400_000;
const NUDGES = MESSAGE_KINDS.filter((kind) => KINDS[kind].purpose === 'rebooking');

/** One invitation for one shape as it was cut, however often its window is computed anew. */
export function shapeRow(
  salonId: string,
  { clientId, formulaId, channel, address }: DueShape,
  dueAt: number,
): OwedRow {
  return {
    dedupeKey: `shape-due:${clientId}:${formulaId}`,
    salonId,
    clientId,
    aboutId: formulaId,
    kind: 'shape-due',
    channel,
    address,
    dueAt,
  };
}

/** SQL that is true where the newest answer of the window's client for this channel is yes. */
function saidYes(manager: EntityManager, channel: Channel): string {
  const newest = manager
    .createQueryBuilder(Consent, `answer_${channel}`)
    .select(`answer_${channel}.given`)
    .where(`answer_${channel}.clientId = w.clientId AND answer_${channel}.channel = '${channel}'`)
    .andWhere(`answer_${channel}.purpose = 'rebooking'`)
    .orderBy(`answer_${channel}.at`, 'DESC')
    .addOrderBy(`answer_${channel}.id`, 'DESC')
    .limit(1)
    .getQuery();
  return `(${newest}) = :yes`;
}

/**
 * Whose shape is due, who has no appointment ahead, said yes to such messages, can be reached, has had no nudge
 * for this shape and not too many of late, and is not to be left without: one question to the database for the whole book, the earliest first.
 */
export async function dueShapes(manager: EntityManager, asked: Asked, now: number): Promise<DueShape[]> {
  const { salonId, until, since, rules, channels, exclusions, limit } = asked;
  const leftOut = await exclusions.sql(manager, salonId, 'w.clientId');
  const mail = `(c.email IS NOT NULL AND ${saidYes(manager, 'mail')})`;
  const text = channels.includes('text')
    ? `(c.phone IS NOT NULL AND ${saidYes(manager, 'text')})`
    : '(1 = 0)';
  const rows = await manager
    .createQueryBuilder(ShapeWindow, 'w')
    .innerJoin(Client, 'c', 'c.id = w.clientId AND c.salonId = w.salonId')
    .where('w.salonId = :salonId AND w.earliestOn <= :until AND w.latestOn >= :since')
    .andWhere(`(${mail} OR ${text})`)
    .andWhere(leftOut.length === 0 ? '1 = 1' : `NOT (${leftOut.join(' OR ')})`)
    .andWhere((query) => {
      const ahead = query
        .subQuery()
        .select('1')
        .from(Appointment, 'a')
        .where('a.clientId = w.clientId AND a.salonId = w.salonId AND a.endsAt > :now')
        .andWhere("a.state IN ('booked', 'arrived')")
        .getQuery();
      return `NOT EXISTS ${ahead}`;
    })
    .andWhere((query) => {
      const told = query
        .subQuery()
        .select('1')
        .from(Message, 'm')
        .where("m.dedupeKey = 'shape-due:' || w.clientId || ':' || w.formulaId")
        .getQuery();
      return `NOT EXISTS ${told}`;
    })
    .andWhere((query) => {
      const lately = query
        .subQuery()
        .select('COUNT(*)')
        .from(Message, 'n')
        .where('n.clientId = w.clientId AND n.kind IN (:...nudges)')
        .andWhere("(n.state = 'owed' OR (n.state = 'sent' AND n.sentAt > :lately))")
        .getQuery();
      return `${lately} < :most`;
    })
    .setParameters({
      salonId,
      until,
      since,
      now,
      nudges: NUDGES,
      yes: true,
      lately: now - rules.nudgeWeeks * WEEK_MS,
      most: rules.nudgeMost,
    })
    .select([
      'w.clientId AS "clientId"',
      'w.formulaId AS "formulaId"',
      'c.email AS "email"',
      'c.phone AS "phone"',
    ])
    .addSelect(`CASE WHEN ${mail} THEN 1 ELSE 0 END`, 'byMail')
    .orderBy('w.dueOn', 'ASC')
    .addOrderBy('w.clientId', 'ASC')
    .limit(limit)
    .getRawMany<{
      clientId: string;
      formulaId: string;
      email: string;
      phone: string;
      byMail: number | string;
    }>();
  return rows.map(({ clientId, formulaId, email, phone, byMail }) => ({
    clientId,
    formulaId,
    ...(Number(byMail) === 1
      ? { channel: 'mail' as const, address: email }
      : { channel: 'text' as const, address: phone }),
  }));
}
