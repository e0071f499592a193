import type { AddressInfo } from 'node:net';
import { Logger } from '@nestjs/common';
import { SMTPServer } from 'smtp-server';
import { Appointment } from '../../src/book/index.js';
import type { ClientRecord } from '../../src/clients/index.js';
import { channelsOf } from '../../src/reminders/channels.js';
import {
  Dispatcher,
  type DispatchPolicy,
  Message,
  Messages,
  NudgeExclusions,
  USUAL_POLICY,
} from '../../src/reminders/index.js';
import { Judge } from '../../src/reminders/judge.js';
import { Links } from '../../src/reminders/links.js';
import { Lookups } from '../../src/reminders/lookups.js';
import { MessageLeases } from '../../src/reminders/message-leases.js';
import { oweForBooking } from '../../src/reminders/owing.js';
import { PrivatePaths } from '../../src/reminders/private-paths.js';
import { type OutgoingMail, Sender, type TextSender } from '../../src/reminders/sender.js';
import { Standings } from '../../src/reminders/standings.js';
import { MessageTemplates, messageTemplatesDir } from '../../src/reminders/templates.js';
import { NoTextGateway } from '../../src/reminders/text-gateway.js';
import { Upkeep } from '../../src/reminders/upkeep.js';
import { newId, readSettings, Turns, UnitOfWork } from '../../src/store/index.js';
import { bookOf } from './book.js';
import { makeClient } from './clients.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from './salon.js';

export type TestDesk = TestStore & TestSalon & { readonly client: ClientRecord; readonly messages: Messages };

/** A salon in London at nine in the morning of 1 June 2026, and a client with a mail address. */
export async function openDesk(changes: Record<string, unknown> = {}): Promise<TestDesk> {
  Logger.overrideLogger(false);
  const store = await openTestStore('2026-06-01T08:00:00Z');
  const salon = await makeSalon(store);
  const client = await makeClient(store, salon.salon.id, { email: 'ottilie@example.org', ...changes });
  const messages = new Messages(store.units, store.reader, store.clock, store.audit);
  return { ...store, ...salon, client, messages };
}

/** An appointment of the desk's client, not yet stored. */
export function appointmentAt(desk: TestDesk, startsAtIso: string, changes: Partial<Appointment> = {}) {
  const startsAt = Date.parse(startsAtIso);
  return Object.assign(new Appointment(), {
    id: newId(),
    salonId: desk.salon.id,
    clientId: desk.client.id,
    staffId: desk.mara.id,
    serviceId: desk.fullCut.id,
    startsAt,
    endsAt: startsAt + 45 * 60_000,
    state: 'booked',
    bookedAt: desk.clock.now(),
    bookedById: null,
    moves: 0,
    cancelledAt: null,
    notes: 'Prefers the window chair',
    ...changes,
  });
}

/** Stores an appointment and what it owes, in one unit of work. */
export async function bookAt(desk: TestDesk, startsAtIso: string): Promise<Appointment> {
  const appointment = appointmentAt(desk, startsAtIso);
  await desk.units.run(async (manager) => {
    await manager.insert(Appointment, appointment);
    await oweForBooking(manager, appointment, desk.clock.now());
  });
  return appointment;
}

export function messagesOf(desk: TestDesk, appointmentId: string): Promise<Message[]> {
  return desk.reader.manager.find(Message, { where: { appointmentId }, order: { id: 'ASC' } });
}

/** Keeps what it is given, after doing whatever `first` does. */
export class KeepingSender extends Sender {
  readonly name = 'smtp';
  readonly kept: OutgoingMail[] = [];

  constructor(private readonly first: (mail: OutgoingMail) => Promise<void> = async () => undefined) {
    super();
  }

  async send(mail: OutgoingMail): Promise<void> {
    await this.first(mail);
    this.kept.push(mail);
  }
}

export type Parts = {
  readonly leases: MessageLeases;
  readonly dispatcher: Dispatcher;
  readonly upkeep: Upkeep;
};

const SETTINGS_ENV = {
  PUBLIC_URL: 'https://book.example.org:8443/desk',
  LINK_SECRET: 'a secret of the tests',
} as const;

/** The settings that tests run with; `env` overrides or adds variables. */
export function testSettings(env: NodeJS.ProcessEnv = {}) {
  return readSettings({ ...SETTINGS_ENV, ...env });
}

export type DispatchSetup = {
  readonly policy?: Partial<DispatchPolicy>;
  readonly units?: UnitOfWork;
  readonly textSender?: TextSender;
  /** Called whenever a message is judged. */
  readonly judging?: () => void;
  /** Environment variables. */
  readonly env?: NodeJS.ProcessEnv;
};

/** A dispatcher with everything it is made of, over the desk's store. */
export function partsOf(desk: TestDesk, sender: Sender, setup: DispatchSetup = {}): Parts {
  const { units = desk.units, policy, textSender = new NoTextGateway(), env, judging } = setup;
  const { reader, clock } = desk;
  const settings = testSettings(env);
  const { links, offers } = bookOf(desk);
  const leases = new MessageLeases(
    units,
    reader,
    clock,
    new PrivatePaths(links, offers, clock),
    channelsOf(settings),
  );
  const exclusions = new NudgeExclusions();
  const lookups = new Lookups(reader);
  const judge = new Judge(
    reader,
    clock,
    lookups,
    new Standings(reader, clock, lookups),
    new MessageTemplates(messageTemplatesDir()),
    new Links(settings),
    exclusions,
    settings,
  );
  if (judging) {
    const really = judge.judge.bind(judge);
    judge.judge = async (message) => {
      judging();
      return await really(message);
    };
  }
  return {
    leases,
    dispatcher: new Dispatcher(leases, clock, judge, sender, textSender, {
      ...USUAL_POLICY,
      random: () => 1,
      ...policy,
    }),
    upkeep: new Upkeep(units, reader, clock, leases, exclusions, new Turns(units, reader, clock), settings),
  };
}

export function dispatcherOf(
  desk: TestDesk,
  sender: Sender,
  policy: Partial<DispatchPolicy> = {},
  units: UnitOfWork = desk.units,
): Dispatcher {
  return partsOf(desk, sender, { policy, units }).dispatcher;
}

export type MailServer = {
  readonly url: string;
  /** Whole mails as they came over the wire, with their envelopes. */
  readonly accepted: { readonly raw: Buffer; readonly from: string; readonly to: string[] }[];
  /** How it answers from now on: at RCPT TO, after DATA, by hanging up or by saying nothing. */
  behave: 'well' | 'refuse-recipient' | 'busy' | 'refuse-content' | 'drop' | 'stall' | 'slow';
  /** Mails that were begun, accepted or not. */
  attempts: number;
  close(): Promise<void>;
};

/** How long a slow server thinks about a mail that it has. */
const SLOW_MS = 1_200;

function answer(responseCode: number, message: string): Error {
  return Object.assign(new Error(message), { responseCode });
}

/** A real SMTP server on a free port of this machine. */
export async function openMailServer(): Promise<MailServer> {
  const server = new SMTPServer({
    authOptional: true,
    disabledCommands: ['STARTTLS', 'AUTH'],
    disableReverseLookup: true,
    closeTimeout: 100,
    onRcptTo(_address, _session, done) {
      const refused = mail.behave === 'refuse-recipient' ? answer(550, '5.1.1 No such mailbox') : undefined;
      done(refused);
    },
    onData(stream, session, done) {
      mail.attempts += 1;
      const chunks: Buffer[] = [];
      stream.on('data', (chunk: Buffer) => chunks.push(chunk));
      stream.on('end', () => {
        if (mail.behave === 'stall') return;
        const answered = mail.behave === 'slow' ? () => setTimeout(done, SLOW_MS) : done;
        if (mail.behave === 'busy') return done(answer(451, '4.3.2 Try again later'));
        if (mail.behave === 'refuse-content') return done(answer(554, '5.7.1 Not here'));
        if (mail.behave === 'drop') {
          for (const { _socket } of server.connections as Set<{ _socket: { destroy(): void } }>)
            _socket.destroy();
          return;
        }
        const { mailFrom, rcptTo } = session.envelope;
        mail.accepted.push({
          raw: Buffer.concat(chunks),
          from: mailFrom ? mailFrom.address : '',
          to: rcptTo.map(({ address }) => address),
        });
        answered();
      });
    },
  });
  server.on('error', () => undefined);
  await new Promise<void>((ready) => {
    server.listen(0, '127.0.0.1', ready);
  });
  const { port } = server.server.address() as AddressInfo;
  const mail: MailServer = {
    url: `smtp://127.0.0.1:${port}`,
    accepted: [],
    behave: 'well',
    attempts: 0,
    close: () => new Promise((closed) => server.close(closed)),
  };
  return mail;
}
