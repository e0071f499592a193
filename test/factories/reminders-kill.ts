import { type ChildProcess, spawn } from 'node:child_process';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { SMTPServer } from 'smtp-server';
import { projectRoot } from '../../src/base/index.js';
import { Appointment } from '../../src/book/index.js';
import { Message } from '../../src/reminders/index.js';
import { isPostgresUrl, newId } from '../../src/store/index.js';
import { appointmentAt, openDesk, type TestDesk } from './reminders.js';

/**
 * A sending is cut short after this, which on a busy machine must not happen by itself; a lease lasts four times as
 * long.
 */
const SEND_WITHIN_MS = 2_000;
/** From "250" to our record, on a busy machine. */
const RECORDED_WITHIN_MS = 2_000;
const MONTH_MS = 30 * 86_400_000;
const INSERTED_TOGETHER = 500;

/** One "250": when, and to which worker, who says her name in EHLO. */
type Acceptance = { readonly at: number; readonly worker: string };

/** Every mail that was answered with "250", by Message-ID. */
export type CountingServer = {
  readonly url: string;
  readonly accepted: Map<string, Acceptance[]>;
  /** Called after each acceptance. */
  onAccepted: () => void;
  close(): Promise<void>;
};

/** An SMTP server that counts a mail in the very moment in which it says "250". */
export async function openCountingServer(): Promise<CountingServer> {
  const accepted = new Map<string, Acceptance[]>();
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS', 'AUTH'],
    disableReverseLookup: true,
    closeTimeout: 100,
    onData(stream, { hostNameAppearsAs }, done) {
      const chunks: Buffer[] = [];
      stream.on('data', (chunk: Buffer) => chunks.push(chunk));
      stream.on('end', () => {
        const id = /^message-id:\s*<([^@>]+)@/im.exec(Buffer.concat(chunks).toString('latin1'))?.[1] ?? '';
        accepted.set(id, [...(accepted.get(id) ?? []), { at: Date.now(), worker: `${hostNameAppearsAs}` }]);
        done();
        counting.onAccepted();
      });
    },
  });
  // Whoever is killed drops the connection.
  server.on('error', () => undefined);
  await new Promise<void>((ready) => {
    server.listen(0, '127.0.0.1', ready);
  });
  const { port } = server.server.address() as AddressInfo;
  const counting: CountingServer = {
    url: `smtp://127.0.0.1:${port}`,
    accepted,
    onAccepted: () => undefined,
    close: () => new Promise((closed) => server.close(closed)),
  };
  return counting;
}

/** A desk at the real time of day that owes so many messages, all due now. */
export async function deskOwing(count: number): Promise<TestDesk> {
  const desk = await openDesk();
  const now = Date.now();
  const appointment = appointmentAt(desk, new Date(now + MONTH_MS).toISOString());
  await desk.units.run(async (manager) => {
    await manager.insert(Appointment, appointment);
    for (let i = 0; i < count; i += INSERTED_TOGETHER) {
      const rows = Array.from({ length: Math.min(INSERTED_TOGETHER, count - i) }, (_, k) => ({
        id: newId(),
        dedupeKey: `appointment-confirmation:${appointment.id}:${i + k}`,
        salonId: desk.salon.id,
        clientId: desk.client.id,
        appointmentId: appointment.id,
        kind: 'appointment-confirmation' as const,
        channel: 'mail' as const,
        address: 'ottilie@example.org',
        owedSince: now,
        dueAt: now,
        state: 'owed' as const,
        attempts: 0,
      }));
      await manager.insert(Message, rows);
    }
  });
  return desk;
}

export type KillReport = {
  readonly messages: number;
  readonly kills: number;
  /** Accepted twice or more: cut off between the server's "250" and our record. */
  readonly doubled: number;
  /** Of those, the ones of which an acceptance but the last was not followed by that worker's kill. */
  readonly unexplained: readonly unknown[];
  /** Owed and never accepted, or accepted and not recorded as sent. */
  readonly lost: number;
  /** Accepted under an id that no message has. */
  readonly unknown: number;
  readonly seconds: number;
};

type KillOptions = {
  readonly messages: number;
  /** Worker processes at a time. */
  readonly workers: number;
  /** On the average, from its first mail on, a worker lives so long. */
  readonly meanLifeMs: number;
  readonly redisUrl?: string;
  /** Once this many mails were accepted. */
  readonly midway?: () => Promise<void>;
  readonly random: () => number;
};

/**
 * Has real worker processes send messages to a counting server and kills each, with no chance to tidy up, at a
 * random moment of its work, until every message is recorded as sent.
 */
export async function killThrough(options: KillOptions): Promise<KillReport> {
  const { messages, workers, meanLifeMs, redisUrl, random, midway } = options;
  const server = await openCountingServer();
  const desk = await deskOwing(messages);
  const begun = Date.now();
  const killedAt = new Map<string, number>();
  let started = 0;
  const working = new Set<{ child: ChildProcess; name: string; doomed: boolean }>();
  let over = false;

  const start = () => {
    started += 1;
    const name = `worker-${started}`;
    const child = spawn(process.execPath, [join(projectRoot(), 'dist/src/worker.js')], {
      stdio: 'ignore',
      env: {
        PATH: process.env['PATH'],
        HALFINCH_DATA: desk.folder,
        ...(isPostgresUrl(desk.database) ? { DATABASE_URL: desk.database } : { SQLITE_FILE: desk.database }),
        SMTP_URL: `${server.url}/?name=${name}`,
        SEND_WITHIN_MS: `${SEND_WITHIN_MS}`,
        DISPATCH_EVERY_MS: '50',
        LOG_LEVEL: 'silent',
        ...(redisUrl && { REDIS_URL: redisUrl }),
      },
    });
    const worker = { child, name, doomed: false };
    working.add(worker);
    child.once('exit', () => {
      working.delete(worker);
      if (!over) start();
    });
  };
  // Which of them sent it is not known: each acceptance may doom one that is not doomed yet.
  server.onAccepted = () => {
    const free = [...working].filter(({ doomed }) => !doomed);
    const chosen = free[Math.floor(random() * free.length)];
    if (!chosen || working.size - free.length > 0) return;
    chosen.doomed = true;
    // The first at once: on a quick machine all may be sent before a moment drawn by lot.
    const livesMs = killedAt.size === 0 ? 0 : random() * 2 * meanLifeMs;
    setTimeout(() => {
      if (over) return;
      killedAt.set(chosen.name, Date.now());
      chosen.child.kill('SIGKILL');
    }, livesMs);
  };
  const left = () => desk.reader.manager.countBy(Message, { state: 'owed' });
  try {
    for (let i = 0; i < workers; i += 1) start();
    let disturbed = midway === undefined;
    while ((await left()) > 0) {
      if (!disturbed && server.accepted.size >= messages / 3) {
        disturbed = true;
        await midway?.();
      }
      await new Promise((later) => setTimeout(later, 100));
    }
  } finally {
    over = true;
    const gone = [...working].map(({ child }) => new Promise((exited) => child.once('exit', exited)));
    for (const { child } of working) child.kill('SIGKILL');
    await Promise.all(gone);
    await server.close();
  }
  const rows = await desk.reader.manager.find(Message, { select: { id: true, state: true } });
  await desk.close();
  const doubles = [...server.accepted.values()].filter((times) => times.length > 1);
  // What a killed process had handed over may be read, and answered into the void, any time later.
  const cutOff = ({ at, worker }: Acceptance) =>
    (killedAt.get(worker) ?? Number.POSITIVE_INFINITY) <= at + RECORDED_WITHIN_MS;
  const unexplained = doubles
    .filter((times) => !times.slice(0, -1).every(cutOff))
    .map((times) => times.map((one) => ({ ...one, killedAt: killedAt.get(one.worker) })));
  const known = new Set(rows.map(({ id }) => id));
  return {
    messages,
    kills: killedAt.size,
    doubled: doubles.length,
    unexplained,
    lost: rows.filter(({ id, state }) => state !== 'sent' || !server.accepted.has(id)).length,
    unknown: [...server.accepted.keys()].filter((id) => !known.has(id)).length,
    seconds: (Date.now() - begun) / 1000,
  };
}
