import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { serveApiDescription } from '../../src/api/index.js';
import { AppModule } from '../../src/app.module.js';
import { FixedClock } from '../../src/base/index.js';
import { createServer } from '../../src/http/index.js';
import { hashPassword, ROLES, type Role, SignIn } from '../../src/identity/index.js';
import { Salons } from '../../src/salon/index.js';
import { Reader, readSettings, UnitOfWork } from '../../src/store/index.js';
import { ApiAnswers } from './api-answers.js';
import { emptyDatabase, isOnPostgres } from './database.js';
import { makeSalon, type TestSalon } from './salon.js';

export type Answer = {
  readonly status: number;
  readonly type: string;
  readonly headers: Readonly<Record<string, unknown>>;
  readonly body: Readonly<Record<string, unknown>>;
};

export type TestApp = TestSalon & {
  readonly app: NestFastifyApplication;
  readonly clock: FixedClock;
  readonly reader: Reader;
  readonly units: UnitOfWork;
  /** Asks the API as a role; `nobody` sends no token. */
  ask(
    role: Role | 'nobody',
    method: string,
    path: string,
    body?: unknown,
    headers?: Readonly<Record<string, string>>,
  ): Promise<Answer>;
  close(): Promise<void>;
};

export const PASSWORD = 'correct horse battery';

let answers: ApiAnswers | undefined;

/** All apps describe themselves alike, so that one description does for all of them. */
function describedAnswers(description: () => object): ApiAnswers {
  answers ??= new ApiAnswers(description() as ConstructorParameters<typeof ApiAnswers>[0]);
  return answers;
}

/** Slow by design, so made once. */
let passwordHash: Promise<string> | undefined;

/** The whole product on a database of its own, with an invented salon and one account a role; nothing listens. `env` overrides settings. */
export async function startTestApp(
  nowIso = '2026-06-01T08:00:00Z',
  env: NodeJS.ProcessEnv = {},
): Promise<TestApp> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-app-'));
  const { database, drop } = await emptyDatabase(join(folder, 'halfinch.sqlite'));
  const settings = readSettings({
    HALFINCH_DATA: folder,
    LOG_LEVEL: 'silent',
    DISPATCH_EVERY_MS: '3600000',
    STRANGERS_PER_MINUTE: '0',
    API_PER_MINUTE: '0',
    DATABASE_READERS: '2',
    ...(isOnPostgres() && { DATABASE_URL: database }),
    ...env,
  });
  const clock = new FixedClock(Date.parse(nowIso));
  const app = await createServer(AppModule.with(settings, clock), settings);
  const description = serveApiDescription(app);
  await app.init();
  const fastify = app.getHttpAdapter().getInstance();
  await fastify.ready();

  const salon = await makeSalon({ salons: app.get(Salons, { strict: false }) });
  const signIn = app.get(SignIn);
  const units = app.get(UnitOfWork, { strict: false });
  passwordHash ??= hashPassword(PASSWORD);
  const hash = await passwordHash;
  for (const role of ROLES) {
    const email = `${role}@wren-tallow.example.org`;
    await units.run((manager) =>
      signIn.addAccount(manager, { email, name: `The ${role}`, role, passwordHash: hash }),
    );
  }

  const sessions = new Map<Role, Promise<{ token: string; expiresAt: number }>>();
  /** Signs in afresh once the test's clock has passed the session. */
  const tokenOf = async (role: Role): Promise<string> => {
    const session = await sessions.get(role);
    if (session && session.expiresAt > clock.now()) return session.token;
    sessions.set(role, signIn.signIn(`${role}@wren-tallow.example.org`, PASSWORD));
    return await tokenOf(role);
  };

  return {
    ...salon,
    app,
    clock,
    units,
    reader: app.get(Reader, { strict: false }),
    ask: async (role, method, path, body, headers = {}) => {
      const token = role === 'nobody' ? undefined : await tokenOf(role);
      const answer = await app.inject({
        method: method as 'GET',
        url: path,
        headers: { ...headers, ...(token && { authorization: `Bearer ${token}` }) },
        ...(body !== undefined && { payload: body as object }),
      });
      const type = String(answer.headers['content-type'] ?? '');
      if (path.startsWith('/api/v1/'))
        describedAnswers(description).require(method, path, {
          status: answer.statusCode,
          type,
          text: answer.body,
        });
      return {
        status: answer.statusCode,
        type,
        headers: answer.headers,
        body: type.includes('json') && answer.body !== '' ? answer.json() : { text: answer.body },
      };
    },
    close: async () => {
      await app.close();
      await drop();
      await rm(folder, { recursive: true });
    },
  };
}
