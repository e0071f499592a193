import { type ChildProcess, fork } from 'node:child_process';
import { join } from 'node:path';
import { projectRoot } from '../../src/base/index.js';
import { hashPassword, Sessions, SignIn } from '../../src/identity/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from '../factories/clients.js';
import { CROP } from '../factories/cuts.js';
import { isOnPostgres } from '../factories/database.js';
import { askAt } from '../factories/group.js';
import { makeSalon, openTestStore, type TestStore } from '../factories/salon.js';
import { postgresMs, processMs } from './processor.js';
import { type BenchOptions, type BenchRow, spreadRow } from './row.js';
import { startServer } from './server.js';

const AT_ONCE = 8;
/** Of the requests a second of a style sheet. */
const LEAST_RATIO = 1 / 4;
const DAY_MS = 86_400_000;

const dayBefore = (days: number) => new Date(Date.now() - days * DAY_MS).toISOString().slice(0, 10);

/** What the product is started with to serve what the store holds. */
export const servingOf = ({ folder, database }: TestStore): NodeJS.ProcessEnv => ({
  HALFINCH_DATA: folder,
  LOG_LEVEL: 'silent',
  STRANGERS_PER_MINUTE: '0',
  ...(isOnPostgres() ? { DATABASE_URL: database } : { SQLITE_FILE: database }),
});

type Load = { readonly perSecond: number; readonly processorMs: number };

/** How often a page is answered in a second, and what one answer costs the server and its database. */
async function loadOf(
  loader: ChildProcess,
  pid: number,
  url: string,
  token: string,
  milliseconds: number,
): Promise<Load> {
  const spent = () => processMs(pid) + (isOnPostgres() ? postgresMs() : 0);
  const before = spent();
  const begun = performance.now();
  const answers = await new Promise<number>((done, failed) => {
    loader.once('message', (count) => done(count as number)).once('exit', failed);
    loader.send({ url, token, atOnce: AT_ONCE, milliseconds });
  });
  loader.removeAllListeners('exit');
  const seconds = (performance.now() - begun) / 1000;
  return { perSecond: answers / seconds, processorMs: (spent() - before) / answers };
}

/**
 * A client's card with three visits, drawings and health notes, as the owner sees it, against a style sheet of the very
 * same server, by turns; whoever asks is a process of its own.
 */
export async function benchPage({ quick }: BenchOptions): Promise<BenchRow[]> {
  const [rounds, roundMs, warmMs] = quick ? [2, 1000, 1000] : [5, 4000, 20_000];
  const store = await openTestStore(new Date().toISOString());
  const { salon, mara, fullCut } = await makeSalon(store);
  const { id: clientId } = await makeClient(store, salon.id);
  const sessions = new Sessions(store.units, store.reader, store.clock, store.audit);
  const signIn = new SignIn(store.units, store.reader, store.clock, store.audit, sessions);
  const owner = { email: 'owner@wren-tallow.example.org', password: newId() };
  const passwordHash = await hashPassword(owner.password);
  await store.units.run((manager) =>
    signIn.addAccount(manager, { email: owner.email, name: 'The owner', role: 'owner', passwordHash }),
  );
  const server = await startServer(servingOf(store));
  const loader = fork(join(projectRoot(), 'dist/test/bench/load.js'));
  try {
    const { body } = await askAt(server.url, 'POST', '/api/v1/sessions', { body: owner });
    const token = body['token'] as string;
    for (const days of [100, 65, 30]) {
      const visit = {
        clientId,
        staffId: mara.id,
        serviceId: fullCut.id,
        visitOn: dayBefore(days),
        formula: CROP,
      };
      const { status } = await askAt(server.url, 'POST', '/api/v1/visits', { token, body: visit });
      if (status >= 400) throw new Error(`A visit was answered ${status}.`);
    }
    const asked = (path: string, ms: number) => loadOf(loader, server.pid, server.url + path, token, ms);
    const [plain, card] = ['/assets/halfinch.css', `/clients/${clientId}`];
    for (const path of [plain, card]) await asked(path, warmMs);
    const pairs: { readonly plain: Load; readonly card: Load }[] = [];
    for (let round = 0; round < rounds; round += 1) {
      pairs.push({ plain: await asked(plain, roundMs), card: await asked(card, roundMs) });
    }
    const of = (name: string, values: (pair: (typeof pairs)[number]) => number, unit: BenchRow['unit']) =>
      spreadRow(name, pairs.map(values), unit);
    return [
      of('a static page of the server', (pair) => pair.plain.perSecond, '/s'),
      of("a client's card", (pair) => pair.card.perSecond, '/s'),
      {
        ...of(
          "client's card / static page, requests a second",
          (pair) => pair.card.perSecond / pair.plain.perSecond,
          'ratio',
        ),
        budget: LEAST_RATIO,
        isLeast: true,
      },
      of('a static page, processor time', (pair) => pair.plain.processorMs, 'ms'),
      of("a client's card, processor time", (pair) => pair.card.processorMs, 'ms'),
    ];
  } finally {
    loader.kill();
    await server.stop();
    await store.close();
  }
}
