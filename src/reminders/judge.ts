import { Inject, Injectable } from '@nestjs/common';
import { In } from 'typeorm';
import { Clock } from '../base/index.js';
import { Appointment, aheadOf } from '../book/index.js';
import { Reader, SETTINGS, type Settings } from '../store/index.js';
import { calendarPart } from './calendar-part.js';
import { channelsOf } from './channels.js';
import { MESSAGE_KINDS, Message, type MessageReason } from './entities.js';
import { KINDS } from './kinds.js';
import { letterFacts } from './letter-facts.js';
import { Links } from './links.js';
import { Lookups } from './lookups.js';
import { NudgeExclusions } from './nudge-exclusions.js';
import { afterQuiet } from './quiet-hours.js';
import { reachBy } from './reach.js';
import { type Rules, usualRules } from './rules.js';
import type { OutgoingMail, OutgoingText } from './sender.js';
import { type Standing, Standings } from './standings.js';
import { MessageTemplates, type RenderedLetter } from './templates.js';
import { segmentsOf } from './text-segments.js';
import type { OwnTemplate } from './written-template.js';

/** What was made of a message, to be kept with it once it is sent. */
export type Wording = Pick<RenderedLetter, 'language' | 'template' | 'subject' | 'text'> & {
  readonly address: string;
  readonly segments: number | null;
};

export type Verdict =
  | { readonly mail: OutgoingMail; readonly wording: Wording }
  | { readonly text: OutgoingText; readonly wording: Wording }
  | { readonly unneeded: 'withdrawn' | 'unreachable'; readonly reason: MessageReason }
  | { readonly failed: string; readonly reason: MessageReason | null }
  /** Not at this hour: an instant at which it may go. */
  | { readonly later: number };

const WEEK_MS = 7 * 86_400_000;
const LEAST_NOTICE_MS = 2 * 3_600_000;
/** What stands for the private link in the words that are kept. */
const KEPT_LINK = '[private link]';
/** Told at once at any hour: somebody has just booked, moved or cancelled. */
const AT_ONCE: readonly string[] = [
  'appointment-confirmation',
  'appointment-change',
  'appointment-cancellation',
];
const CARRIES_CALENDAR: readonly string[] = [...AT_ONCE, 'appointment-reminder'];
const NUDGES = MESSAGE_KINDS.filter((kind) => KINDS[kind].purpose === 'rebooking');

/** Whether a message is still to be sent, by what the records say now, and what it says. */
@Injectable()
export class Judge {
  private readonly domain: string;
  private readonly channels: ReturnType<typeof channelsOf>;

  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly lookups: Lookups,
    private readonly standings: Standings,
    private readonly templates: MessageTemplates,
    private readonly links: Links,
    private readonly exclusions: NudgeExclusions,
    @Inject(SETTINGS) settings: Settings,
  ) {
    this.domain = new URL(settings.publicUrl).hostname;
    this.channels = channelsOf(settings);
  }

  /** `path` is that of the private link which was made for it. */
  async judge(message: Message, path?: string): Promise<Verdict> {
    const { kind, clientId, salonId } = message;
    const { purpose } = KINDS[kind];
    // All asked at once, so that those in hand together are looked up together.
    const [standing, client, salon, answers, ownRules, ownTemplates] = await Promise.all([
      this.standings.of(message),
      this.lookups.client(clientId),
      this.lookups.salon(salonId),
      this.lookups.consents(clientId),
      this.lookups.rules(salonId),
      this.lookups.ownTemplates(salonId),
    ]);
    if ('unneeded' in standing || 'failed' in standing) return standing;
    if (!client || !salon) return { unneeded: 'withdrawn', reason: 'over' };
    const reach = reachBy(client, answers, purpose, this.channels);
    if ('unreachable' in reach) return { unneeded: 'unreachable', reason: reach.unreachable };
    const rules = ownRules ?? usualRules(salon);
    if (purpose === 'rebooking') {
      const reason = await this.unwelcome(message, rules);
      if (reason) return { unneeded: 'withdrawn', reason };
    }
    const hours = this.atThisHour(message, rules, salon.zone, standing);
    if (hours) return hours;

    const { channel, address } = reach;
    const unsubscribeUrl = this.links.unsubscribeUrl({ clientId, channel, purpose });
    const linkUrl = path === undefined ? '' : this.links.absolute(path);
    const facts = {
      ...(await letterFacts(this.lookups, { client, salon, appointment: standing.appointment })),
      ...standing.facts,
      unsubscribeUrl,
      linkUrl,
    };
    const own = ownTemplates.filter(
      (one): one is typeof one & OwnTemplate =>
        one.kind === kind && one.channel === channel && one.body !== null,
    );
    const { html, ...letter } = this.templates.render(kind, facts, channel, own);
    // Who reads the database must not be able to open the link.
    const kept = linkUrl === '' ? letter.text : letter.text.replaceAll(linkUrl, KEPT_LINK);
    const wording = { ...letter, text: kept, address, segments: null };
    if (channel === 'text') {
      return {
        text: { id: idempotencyKey(message), to: address, from: salon.name, text: letter.text },
        wording: { ...wording, segments: segmentsOf(letter.text).segments },
      };
    }
    const { appointment } = standing;
    const now = this.clock.now();
    const calendar =
      appointment && CARRIES_CALENDAR.includes(kind)
        ? calendarPart({ appointment, facts, salonEmail: salon.email, domain: this.domain, now, linkUrl })
        : undefined;
    return {
      mail: {
        messageId: `<${message.id}@${this.domain}>`,
        from: { name: salon.name, address: salon.email },
        to: { name: facts.clientName, address },
        sentAt: now,
        language: letter.language,
        subject: letter.subject,
        text: letter.text,
        html,
        unsubscribeUrl,
        ...(calendar && { calendar }),
      },
      wording,
    };
  }

  /** Why an invitation is not to go: she has booked, was written to often enough lately, or is left without. */
  private async unwelcome(
    { id, clientId, salonId }: Message,
    rules: Rules,
  ): Promise<MessageReason | undefined> {
    const { manager } = this.reader;
    const now = this.clock.now();
    const ahead = await manager.existsBy(Appointment, aheadOf(clientId, now));
    if (ahead) return 'booked';
    if (await this.exclusions.leavesOut(manager, salonId, clientId)) return 'left-out';
    const since = now - rules.nudgeWeeks * WEEK_MS;
    const lately = await manager
      .createQueryBuilder(Message, 'message')
      .where({ clientId, kind: In(NUDGES) })
      // Of two in hand at once the older one counts as sent for the other.
      .andWhere(
        "((message.state = 'sent' AND message.sentAt > :since) OR (message.state = 'owed' AND message.leaseId IS NOT NULL AND message.id < :id))",
        { since, id },
      )
      .getCount();
    return lately >= rules.nudgeMost ? 'enough' : undefined;
  }

  /** Keeps the quiet hours; a reminder that the morning would be too late for has failed, so that the desk calls. */
  private atThisHour(
    { kind }: Message,
    rules: Rules,
    zone: string,
    { appointment, useUntil }: Extract<Standing, { facts: unknown }>,
  ): Verdict | undefined {
    if (AT_ONCE.includes(kind)) return undefined;
    const now = this.clock.now();
    const later = afterQuiet(rules, zone, now);
    if (later === now) return undefined;
    const best =
      useUntil ??
      (appointment && appointment.startsAt > now ? appointment.startsAt - LEAST_NOTICE_MS : undefined);
    if (best !== undefined && later > best) {
      return {
        failed: 'It could not go before the night, and in the morning it would have been too late.',
        reason: 'too-late',
      };
    }
    return { later };
  }
}

function idempotencyKey({ id, round }: Message): string {
  return round === 0 ? id : `${id}.${round}`;
}
