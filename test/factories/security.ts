import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { Account, type Role, type SessionKind, Sessions } from '../../src/identity/index.js';
import { isPostgres, Reader, UnitOfWork } from '../../src/store/index.js';
import type { TestApp } from './app.js';
import { CROP } from './cuts.js';

/** Words that must reach nobody without the right to them. */
export const MARKS = {
  name: 'Zephirine',
  phone: '+447700900417',
  notes: 'mark-of-the-notes',
  health: 'mark-of-the-health-notes',
} as const;

export type Marked = { readonly clientId: string; readonly appointmentId: string; readonly visitId: string };

type Body = Record<string, Record<string, string>>;

/** A client with a marked name, phone, notes and health notes, one visit and one appointment ahead. */
export async function plantMarked(test: TestApp): Promise<Marked> {
  const client = await test.ask('owner', 'POST', '/api/v1/clients', {
    givenName: MARKS.name,
    phone: MARKS.phone,
    email: 'zephirine@example.org',
    birthday: '1984-05-27',
    notes: MARKS.notes,
    healthNotes: MARKS.health,
  });
  const clientId = (client.body as Body)['client']?.['id'] ?? '';
  const visit = await test.ask('owner', 'POST', '/api/v1/visits', {
    clientId,
    staffId: test.mara.id,
    serviceId: test.fullCut.id,
    formula: CROP,
  });
  const appointment = await test.ask('desk', 'POST', '/api/v1/appointments', {
    clientId,
    staffId: test.mara.id,
    serviceId: test.fullCut.id,
    date: '2026-06-16',
    time: '10:00',
  });
  return {
    clientId,
    visitId: (visit.body as Body)['visit']?.['id'] ?? '',
    appointmentId: (appointment.body as Body)['appointment']?.['id'] ?? '',
  };
}

/** A session of a role, made without the slow password. */
export async function openSession(
  app: NestFastifyApplication,
  role: Role,
  kind: SessionKind = 'browser',
): Promise<string> {
  const account = await app
    .get(Reader, { strict: false })
    .manager.findOneByOrFail(Account, { role, active: true });
  const sessions = app.get(Sessions, { strict: false });
  const { token } = await app
    .get(UnitOfWork, { strict: false })
    .run((manager) => sessions.start(manager, { accountId: account.id, kind }));
  return token;
}

/** Counts up whenever another connection has committed anything (SQLite manual, PRAGMA data_version; `countWrites`). */
export async function dataVersion(reader: Reader): Promise<number> {
  if (isPostgres(reader.manager)) {
    const [row] = await reader.manager.query('SELECT times FROM written');
    return Number((row as { times: string }).times);
  }
  const [row] = await reader.manager.query('PRAGMA data_version');
  return (row as { data_version: number }).data_version;
}

/** A browser's cookies between requests. */
export class Jar {
  private readonly cookies = new Map<string, string>();

  constructor(private readonly app: NestFastifyApplication) {}

  set(name: string, value: string): void {
    this.cookies.set(name, value);
  }

  async ask(method: 'GET' | 'POST' | 'PUT' | 'DELETE', url: string, form?: Record<string, string>) {
    const answer = await this.app.inject({
      method,
      url,
      headers: {
        cookie: this.cookie(),
        ...(form && { 'content-type': 'application/x-www-form-urlencoded' }),
      },
      ...(form && { payload: new URLSearchParams(form).toString() }),
    });
    for (const { name, value } of answer.cookies) {
      if (value === '') this.cookies.delete(name);
      else this.cookies.set(name, value);
    }
    return answer;
  }

  /** What this browser sends as its cookies. */
  cookie(): string {
    return [...this.cookies].map(([name, value]) => `${name}=${value}`).join('; ');
  }

  /** The CSRF token that a page of this browser carries. */
  async csrf(page = '/sign-in'): Promise<string> {
    const { body } = await this.ask('GET', page);
    return /name="_csrf" value="([^"]+)"/.exec(body)?.[1] ?? '';
  }

  async post(url: string, form: Record<string, string> = {}) {
    return await this.ask('POST', url, { _csrf: await this.csrf(), ...form });
  }
}
