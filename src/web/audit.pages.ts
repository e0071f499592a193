import { Controller, Get, Post, Query } from '@nestjs/common';
import { dateIn, dateInWords, timeIn } from '../base/index.js';
import { Call, Called, Needs, renderPage } from '../http/index.js';
import { Accounts, type AuditLine, AuditTrail } from '../identity/index.js';
import { Front } from './front.js';

const SHOWN = 100;

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
  async list(@Called() call: Call, @Query() query: unknown): Promise<void> {
    await this.show(call, query, false);
  }

  /** Recomputes the whole chain, which takes a while. */
  @Post('verification')
  async verify(@Called() call: Call): Promise<void> {
    await this.show(call.status(200), {}, true);
  }

  private async show(call: Call, query: unknown, verify: boolean): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const [{ lines, asked }, accounts, verdict] = await Promise.all([
      this.trail.find(query, SHOWN),
      this.accounts.list(),
      verify ? this.trail.verify() : undefined,
    ]);
    const { who, about, what } = asked;
    const last = lines.at(-1);
    await renderPage(call, 'audit', {
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
