import { Controller, Get, Post, Query, Req, Res } from '@nestjs/common';
import { IsString, Matches, MaxLength } from 'class-validator';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Blankable, dateIn, dateInWords, timeIn, validated } from '../base/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import { Accounts, type AuditLine, AuditTrail, type Principal } from '../identity/index.js';
import { Front } from './front.js';

const SHOWN = 100;

class AuditQuery {
  @Blankable()
  @Matches(/^\d{1,9}$/, { message: 'Before: give the number of an entry.' })
  before?: string | null;

  @Blankable()
  @MaxLength(36, { message: 'Who: choose one of the list.' })
  @IsString({ message: 'Who: choose one of the list.' })
  who?: string | null;

  @Blankable()
  @MaxLength(36, { message: 'About: this is no id.' })
  @IsString({ message: 'About: this is no id.' })
  about?: string | null;

  @Blankable()
  @Matches(/^[a-z.-]{1,60}$/, { message: 'What: write the beginning of an action, such as client.health.' })
  what?: string | null;
}

const ROLE_WORDS: Readonly<Record<string, string>> = { system: 'the program', client: 'the client' };

/** The audit trail for the owner to read. */
@Needs('audit.read')
@Controller('audit')
export class AuditPages {
  constructor(
    private readonly front: Front,
    private readonly trail: AuditTrail,
    private readonly accounts: Accounts,
  ) {}

  @Get()
  async list(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query() query: unknown,
  ): Promise<void> {
    await this.show(request, reply, principal, query, false);
  }

  /** Recomputes the whole chain, which takes a while. */
  @Post('verification')
  async verify(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    await this.show(request, reply.status(200), principal, {}, true);
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    query: unknown,
    verify: boolean,
  ): Promise<void> {
    const { before, who, about, what } = await validated(AuditQuery, query);
    const { salon } = await this.front.setting(principal);
    const [lines, accounts, verdict] = await Promise.all([
      this.trail.list({
        before: before ? Number(before) : undefined,
        accountId: who ?? undefined,
        subjectId: about ?? undefined,
        action: what ?? undefined,
        limit: SHOWN,
      }),
      this.accounts.list(),
      verify ? this.trail.verify() : undefined,
    ]);
    const last = lines.at(-1);
    await renderPage(request, reply, 'audit', {
      heading: 'Audit trail',
      verdict,
      form: { values: { who: who ?? '', what: what ?? '', about: about ?? '' }, errors: {}, problems: [] },
      people: accounts.map(({ id, name }) => ({ value: id, label: name })),
      lines: lines.map((line) => ({
        number: line.number,
        when: `${dateInWords(dateIn(salon.zone, line.at), salon.locale)} ${timeIn(salon.zone, line.at)}`,
        who: line.who ?? ROLE_WORDS[line.role] ?? line.role,
        action: line.action,
        about: aboutOf(line),
        clientId: line.subjectKind === 'client' ? line.subjectId : null,
        details: detailsOf(line),
        address: line.address,
      })),
      older:
        lines.length === SHOWN && last
          ? `/audit?${new URLSearchParams({ before: String(last.number), who: who ?? '', what: what ?? '', about: about ?? '' })}`
          : '',
    });
  }
}

function aboutOf({ subjectKind, subjectId, about }: AuditLine): string {
  return about ?? (subjectId === null ? subjectKind : `${subjectKind} …${subjectId.slice(-6)}`);
}

function detailsOf({ details }: AuditLine): string {
  return Object.entries(details ?? {})
    .map(([name, value]) => `${name}: ${value}`)
    .join(', ');
}
