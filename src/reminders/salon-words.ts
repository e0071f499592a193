import { Injectable } from '@nestjs/common';
import { IsIn, IsInt, IsOptional, IsString, IsUUID, Matches, MaxLength, Min } from 'class-validator';
import { Blankable, Clock, DomainError, NumberFromText, validated } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { CHANNELS, type Channel, Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { ShapeWindow } from '../rebooking/index.js';
import { Salon } from '../salon/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { MESSAGE_KINDS, type MessageKind, SalonTemplate } from './entities.js';
import { KINDS } from './kinds.js';
import { letterFacts } from './letter-facts.js';
import { Lookups } from './lookups.js';
import { MessageTemplates } from './templates.js';
import { segmentsOf, type TextSegments } from './text-segments.js';
import { SAMPLE, TemplateError } from './written-template.js';

const EXAMPLES = 50;

/** Which words: of a kind of message, by a channel, in a language. */
export class WordsKey {
  @IsUUID('all', { message: 'Salon: give its id.' })
  salonId: string;

  @IsIn(MESSAGE_KINDS, { message: `Kind: choose one of ${MESSAGE_KINDS.join(', ')}.` })
  kind: MessageKind;

  @IsIn(CHANNELS, { message: 'Channel: choose mail or text.' })
  channel: Channel;

  @Matches(/^[a-z]{2,3}$/, { message: 'Language: give its short code, such as en or de.' })
  language: string;
}

export class WordsInput {
  @IsOptional()
  @IsString({ message: 'Subject: write it as text.' })
  @MaxLength(300, { message: 'Subject: use at most 300 characters.' })
  subject?: string;

  @IsString({ message: 'Text: write what the message says.' })
  @Matches(/\S/, { message: 'Text: write what the message says.' })
  @MaxLength(10_000, { message: 'Text: use at most 10,000 characters.' })
  body: string;

  /** Client whose data the preview is filled with; an invented one where it is left out. */
  @Blankable()
  @IsUUID('all', { message: 'Client: choose one of the list, or none.' })
  clientId?: string | null;

  /** Number of the words that were opened, 0 for the program's: refuses to overwrite newer ones. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Version: send the whole number that came with the words.' })
  @Min(0, { message: 'Version: send the whole number that came with the words.' })
  expectedNumber?: number;
}

export type Words = {
  readonly kind: MessageKind;
  readonly channel: Channel;
  readonly language: string;
  /** 0: those that come with the program. */
  readonly number: number;
  readonly subject: string;
  readonly body: string;
  readonly savedAt: number | null;
  /** Names that may stand in double braces. */
  readonly names: readonly string[];
};

export type Preview = {
  readonly subject: string;
  readonly text: string;
  readonly html: string;
  /** For texts only. */
  readonly segments: TextSegments | null;
};

/** A salon's own words for its messages. Every saving is a new version; what was sent keeps the number of its own. */
@Injectable()
export class SalonWords {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly lookups: Lookups,
    private readonly templates: MessageTemplates,
  ) {}

  /** The words that count now. Throws INPUT.INVALID. */
  async get(key: unknown): Promise<Words> {
    const { salonId, kind, channel, language } = await validated(WordsKey, key);
    const own = await this.newest({ salonId, kind, channel, language });
    const source = this.templates.sourceOf(kind, channel, language);
    return {
      kind,
      channel,
      language,
      number: own?.number ?? 0,
      subject: own?.body ? (own.subject ?? '') : source.subject,
      body: own?.body ?? source.body,
      savedAt: own?.body ? own.savedAt : null,
      names: KINDS[kind].names,
    };
  }

  /** Which kinds and channels have words of the salon's own, with their numbers. */
  async own(salonId: string): Promise<Pick<SalonTemplate, 'kind' | 'channel' | 'language' | 'number'>[]> {
    return (await this.lookups.ownTemplates(salonId)).filter(({ body }) => body !== null);
  }

  /** Whom a preview may be filled with: those added last. */
  async examples(salonId: string): Promise<{ readonly id: string; readonly name: string }[]> {
    const clients = await this.reader.manager.find(Client, {
      select: { id: true, givenName: true, familyName: true },
      where: { salonId },
      order: { addedAt: 'DESC', id: 'DESC' },
      take: EXAMPLES,
    });
    return clients.map(({ id, givenName, familyName }) => ({
      id,
      name: `${givenName} ${familyName}`.trim(),
    }));
  }

  /**
   * How these words would read, filled with what is known of a client; `input` is a WordsInput. Throws INPUT.INVALID, TEMPLATE.INVALID naming
   * what is wrong, CLIENT.NOT_FOUND.
   */
  async preview(key: unknown, input: unknown): Promise<Preview> {
    const words = await whole(key, input);
    const { kind, channel, language } = words;
    const own = this.checked(words);
    const facts = { ...(await this.factsOf(words)), language };
    const { subject, text, html } = this.templates.render(kind, facts, channel, [own]);
    return { subject, text, html, segments: channel === 'text' ? segmentsOf(text) : null };
  }

  /** Makes these the salon's words from now on. Throws as `preview` does, and TEMPLATE.STALE. */
  async save(key: unknown, input: unknown, actor: Actor): Promise<Words> {
    const words = await whole(key, input);
    this.checked(words);
    await this.write(words, { subject: words.subject ?? '', body: words.body }, actor);
    return await this.get(keyOf(words));
  }

  /** Goes back to the program's words. Throws INPUT.INVALID. */
  async restore(key: unknown, actor: Actor): Promise<Words> {
    const words = await validated(WordsKey, key);
    await this.write(words, { subject: null, body: null }, actor);
    return await this.get(words);
  }

  private async write(
    words: WordsKey & { readonly expectedNumber?: number },
    content: { readonly subject: string | null; readonly body: string | null },
    actor: Actor,
  ): Promise<void> {
    const key = keyOf(words);
    await this.units.run(async (manager) => {
      const [newest] = await manager.find(SalonTemplate, { where: key, order: { number: 'DESC' }, take: 1 });
      const number = newest?.number ?? 0;
      if (words.expectedNumber !== undefined && words.expectedNumber !== number) {
        throw new DomainError(
          'conflict',
          'TEMPLATE.STALE',
          'Somebody saved other words while you had these open. Nothing of yours was saved yet: look at theirs, then save again.',
          [],
          { number },
        );
      }
      await manager.insert(SalonTemplate, {
        ...key,
        ...content,
        id: newId(),
        number: number + 1,
        savedAt: this.clock.now(),
        savedById: actor.accountId,
      });
      await this.audit.record(manager, actor, {
        action: content.body === null ? 'message-template.restore' : 'message-template.save',
        subjectKind: 'salon',
        subjectId: words.salonId,
        details: { kind: words.kind, channel: words.channel, language: words.language, number: number + 1 },
      });
    });
  }

  private checked({ kind, channel, language, subject, body }: WordsKey & WordsInput) {
    if (channel === 'mail' && !subject?.trim()) {
      throw DomainError.invalid('TEMPLATE.INVALID', 'subject', 'Subject: write what the mail is about.');
    }
    const own = { number: 0, language, subject: channel === 'mail' ? (subject ?? '') : '', body };
    try {
      this.templates.check(kind, channel, own);
    } catch (error) {
      if (!(error instanceof TemplateError)) throw error;
      const field = error.message.startsWith('The subject') ? 'subject' : 'body';
      throw DomainError.invalid('TEMPLATE.INVALID', field, error.message);
    }
    return own;
  }

  private async newest(key: WordsKey): Promise<SalonTemplate | null> {
    return await this.reader.manager.findOne(SalonTemplate, { where: key, order: { number: 'DESC' } });
  }

  private async factsOf({ salonId, clientId }: WordsKey & WordsInput) {
    const { manager } = this.reader;
    const salon = await manager.findOneByOrFail(Salon, { id: salonId });
    const own = { salonName: salon.name, salonAddress: salon.address, salonPhone: salon.phone };
    const place = { ...SAMPLE, ...own, zone: salon.zone, locale: salon.locale };
    if (!clientId) return place;
    const client = await manager.findOneBy(Client, { id: clientId, salonId });
    if (!client) throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
    const appointment = await manager.findOne(Appointment, {
      where: { clientId },
      order: { startsAt: 'DESC' },
    });
    const window = await manager.findOneBy(ShapeWindow, { clientId });
    return {
      ...place,
      ...(await letterFacts(this.lookups, { client, salon, appointment })),
      ...(window && { dueOn: window.dueOn, latestOn: window.latestOn }),
    };
  }
}

async function whole(key: unknown, input: unknown): Promise<WordsKey & WordsInput> {
  return { ...(await validated(WordsKey, key)), ...(await validated(WordsInput, input)) };
}

function keyOf({ salonId, kind, channel, language }: WordsKey): WordsKey {
  return { salonId, kind, channel, language };
}
