import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import ICAL from 'ical.js';
import { type AddressObject, type ParsedMail, simpleParser } from 'mailparser';
import type { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { OutboxSender } from '../../src/reminders/outbox-sender.js';
import { oweForCancellation, oweForMove } from '../../src/reminders/owing.js';
import { Patience } from '../../src/reminders/patience.js';
import { SmtpSender } from '../../src/reminders/smtp-sender.js';
import {
  bookAt,
  dispatcherOf,
  type MailServer,
  messagesOf,
  openDesk,
  openMailServer,
  type TestDesk,
} from '../factories/reminders.js';
import { DRIVERS, type Driver, openDriver } from '../factories/reminders-drivers.js';

/*
 * What arrives is read by mailparser, not by the library that wrote it, from bytes that smtp-server took off a
 * socket. Answers and their meaning: RFC 5321 section 4.2.1 (4yz may be tried again, 5yz must not).
 */

/** Releases of CLDR differ in the comma after the weekday. */
const BOOKED = /^Booked at Wren & Tallow: Thursday,? 18 June 2026, 14:30$/;

let desk: TestDesk;
beforeEach(async () => {
  desk = await openDesk({
    givenName: 'Zoë',
    familyName: 'Farnsby',
    knownAs: 'Zö <3',
    notes: 'owes us a cake',
  });
  await desk.units.run((manager) =>
    manager.update(Client, { id: desk.client.id }, { healthNotes: 'allergic to PPD' }),
  );
});
afterEach(() => desk.close());

const addressOf = (field: AddressObject | AddressObject[] | undefined) => {
  const [first] = Array.isArray(field) ? field : [field];
  return first?.value[0];
};

async function expectConfirmation(mail: ParsedMail, messageRowId: string): Promise<void> {
  expect(mail.subject).toMatch(BOOKED);
  expect(mail.messageId).toBe(`<${messageRowId}@book.example.org>`);
  expect(mail.date?.toISOString()).toBe('2026-06-01T08:00:00.000Z');
  expect(addressOf(mail.from)).toMatchObject({
    address: 'chairs@wren-tallow.example.org',
    name: 'Wren & Tallow',
  });
  expect(addressOf(mail.to)).toMatchObject({ address: 'ottilie@example.org', name: 'Zö <3' });
  expect(mail.headers.get('auto-submitted')).toBe('auto-generated');
  expect(mail.text).toContain('Hello Zö <3,');
  expect(mail.text).toContain('Full cut (45 minutes)');
  expect(mail.text).toContain('Mara Quillfeather');
  expect(mail.text).toContain('3 Candle Row, Oxmarsh');
  expect(mail.html).toContain('Hello Zö &lt;3,');
  expect(mail.html).toContain('+44 20 7946 0301');
  for (const part of [mail.text, mail.html, JSON.stringify(mail.headerLines)]) {
    expect(part).not.toMatch(/PPD|cake|window chair|Farnsby/);
  }
}

describe.each(DRIVERS)('mail by SMTP, carried by the %s driver', (name) => {
  let driver: Driver;
  let server: MailServer;
  beforeAll(async () => {
    driver = await openDriver(name);
  });
  afterAll(() => driver.close());
  beforeEach(async () => {
    await driver.reset();
    server = await openMailServer();
  });
  afterEach(() => server.close());

  it('arrives once, as text and HTML, from the salon to the client, with nothing private in it', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const dispatcher = driver.carrier(desk, new SmtpSender(server.url));
    expect(await dispatcher.deliverDue()).toEqual({ sent: 1, waiting: 0, failed: 0, unneeded: 0 });
    expect(await dispatcher.deliverDue()).toEqual({ sent: 0, waiting: 0, failed: 0, unneeded: 0 });

    expect(server.accepted).toHaveLength(1);
    expect(server.accepted[0]).toMatchObject({
      from: 'chairs@wren-tallow.example.org',
      to: ['ottilie@example.org'],
    });
    const [confirmation, reminder] = await messagesOf(desk, id);
    await expectConfirmation(await simpleParser(server.accepted[0]!.raw), confirmation!.id);
    expect(confirmation).toMatchObject({
      state: 'sent',
      sentBy: 'smtp',
      sentAt: desk.clock.now(),
      attempts: 1,
      subject: expect.stringMatching(BOOKED),
    });
    expect(confirmation?.body).toContain('Full cut (45 minutes)');
    expect(reminder).toMatchObject({ state: 'owed', attempts: 0 });

    desk.clock.at = Date.parse('2026-06-16T13:30:00Z');
    await dispatcher.deliverDue();
    const mail = await simpleParser(server.accepted[1]!.raw);
    expect(mail.subject).toMatch(/^Your appointment at Wren & Tallow: Thursday,? 18 June 2026, 14:30$/);
  });

  it('carries a link that ends such mails by one click, by RFC 2369 and RFC 8058', async () => {
    await bookAt(desk, '2026-06-18T13:30:00Z');
    await driver.carrier(desk, new SmtpSender(server.url)).deliverDue();
    const { headerLines, text } = await simpleParser(server.accepted[0]!.raw);
    const line = (key: string) => headerLines.find((header) => header.key === key)?.line ?? '';
    // Unfolded as RFC 5322 section 2.2.3 says.
    const unfolded = line('list-unsubscribe').replace(/\r\n(?=[ \t])/g, '');
    const [, url] = /^List-Unsubscribe:\s*<([^<>\s]+)>$/.exec(unfolded) ?? [];
    expect(url).toMatch(
      /^https:\/\/book\.example\.org:8443\/desk\/unsubscribe\/[0-9a-f-]{36}\.mail\.appointment\.[\w-]{43}$/,
    );
    expect(line('list-unsubscribe-post')).toBe('List-Unsubscribe-Post: List-Unsubscribe=One-Click');
    expect(text).toContain(`No more messages of this kind: ${url}`);
  });

  it('carries the appointment for a calendar, which a move changes and a cancellation takes back', async () => {
    const appointment = await bookAt(desk, '2026-06-18T13:30:00Z');
    const carrier = driver.carrier(desk, new SmtpSender(server.url));
    await carrier.deliverDue();
    const change = async (fields: Partial<Appointment>, owe: typeof oweForMove) => {
      Object.assign(appointment, fields);
      await desk.units.run(async (manager) => {
        await manager.save(appointment);
        await owe(manager, appointment, desk.clock.now());
      });
      await carrier.deliverDue();
    };
    const startsAt = Date.parse('2026-06-19T10:00:00Z');
    await change({ moves: 1, startsAt, endsAt: startsAt + 45 * 60_000 }, oweForMove);
    await change({ state: 'cancelled', cancelledAt: desk.clock.now() }, oweForCancellation);

    const entries = await Promise.all(
      server.accepted.map(async ({ raw }) => {
        const { attachments } = await simpleParser(raw);
        expect(attachments).toHaveLength(1);
        expect(attachments[0]).toMatchObject({ contentType: 'text/calendar', filename: 'appointment.ics' });
        // Read by another library than the one that wrote it.
        const calendar = new ICAL.Component(ICAL.parse(attachments[0]!.content.toString('utf8')));
        const component = calendar.getFirstSubcomponent('vevent')!;
        const event = new ICAL.Event(component);
        return {
          method: calendar.getFirstPropertyValue('method'),
          uid: event.uid,
          sequence: event.sequence,
          status: component.getFirstPropertyValue('status'),
          summary: event.summary,
          location: event.location,
          starts: event.startDate.toJSDate().toISOString(),
          ends: event.endDate.toJSDate().toISOString(),
        };
      }),
    );
    const always = {
      uid: `${appointment.id}@book.example.org`,
      summary: 'Full cut, Wren & Tallow',
      location: '3 Candle Row, Oxmarsh',
    };
    const moved = { starts: '2026-06-19T10:00:00.000Z', ends: '2026-06-19T10:45:00.000Z' };
    expect(entries).toEqual([
      {
        ...always,
        method: 'PUBLISH',
        status: 'CONFIRMED',
        sequence: 0,
        starts: '2026-06-18T13:30:00.000Z',
        ends: '2026-06-18T14:15:00.000Z',
      },
      { ...always, ...moved, method: 'PUBLISH', status: 'CONFIRMED', sequence: 1 },
      { ...always, ...moved, method: 'CANCEL', status: 'CANCELLED', sequence: 2 },
    ]);
  });

  it.each([
    ['busy', 'The mail server answered: 451 4.3.2 Try again later'],
    ['drop', /^The mail server could not be reached: /],
    ['stall', 'The mail server took too long to answer.'],
  ] as const)('waits and tries again when the server is at fault: %s', async (behave, told) => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const dispatcher = driver.carrier(desk, new SmtpSender(server.url), {
      sendWithinMs: 750,
      answerWithinMs: 750,
    });
    server.behave = behave;
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 0, waiting: 1 });
    const [waiting] = await messagesOf(desk, id);
    expect(waiting).toMatchObject({ state: 'owed', attempts: 1, notBefore: desk.clock.now() + 60_000 });
    expect(waiting?.lastError).toEqual(typeof told === 'string' ? told : expect.stringMatching(told));

    server.behave = 'well';
    desk.clock.at += 59_999;
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 0, waiting: 0 });
    desk.clock.at += 1;
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 1 });
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'sent', attempts: 2, lastError: null });
    expect(server.attempts).toBe(2);
    expect(server.accepted).toHaveLength(1);
  });

  // RFC 5321, 4.5.3.2.6: a server that has the data may take minutes to say so, and whoever gives up sends it twice.
  it('waits for the answer to a mail that it has handed over longer than for handing it over', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    server.behave = 'slow';
    const dispatcher = driver.carrier(desk, new SmtpSender(server.url), { sendWithinMs: 500 });
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 1, waiting: 0 });
    expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'sent', attempts: 1 });
    expect(server.accepted).toHaveLength(1);
  });

  it.each([
    ['refuse-recipient', /550 5\.1\.1 No such mailbox/],
    ['refuse-content', /554 5\.7\.1 Not here/],
  ] as const)('fails at once when the mail itself is refused for good: %s', async (behave, told) => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const dispatcher = driver.carrier(desk, new SmtpSender(server.url));
    server.behave = behave;
    expect(await dispatcher.deliverDue()).toMatchObject({ failed: 1 });
    const [failed] = await messagesOf(desk, id);
    expect(failed).toMatchObject({ state: 'failed', attempts: 1, lastError: expect.stringMatching(told) });

    server.behave = 'well';
    await desk.messages.retry(failed!.id, { accountId: null, role: 'system' });
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 1 });
    const mail = await simpleParser(server.accepted[0]!.raw);
    expect(mail.messageId).toBe(`<${failed!.id}@book.example.org>`);
  });

  it('one recipient’s trouble holds up nobody else, and a server that is away is no failure yet', async () => {
    for (let day = 10; day < 16; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    await server.close();
    const dispatcher = driver.carrier(desk, new SmtpSender(server.url));
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 0, waiting: 6, failed: 0 });

    server = await openMailServer();
    desk.clock.at += 60_000;
    const again = driver.carrier(desk, new SmtpSender(server.url));
    expect(await again.deliverDue()).toMatchObject({ sent: 6 });
    const ids = await Promise.all(
      server.accepted.map(async ({ raw }) => (await simpleParser(raw)).messageId),
    );
    expect(new Set(ids).size).toBe(6);
  });
});

describe('mail into the outbox folder', () => {
  let folder: string;
  beforeEach(async () => {
    folder = join(await mkdtemp(join(tmpdir(), 'halfinch-outbox-')), 'outbox');
  });
  afterEach(() => rm(join(folder, '..'), { recursive: true }));

  it('is a whole .eml file named after the message, and says the same as the one by SMTP', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    expect(await dispatcherOf(desk, new OutboxSender(folder)).deliverDue()).toMatchObject({ sent: 1 });
    const [confirmation] = await messagesOf(desk, id);
    expect(await readdir(folder)).toEqual([`${confirmation!.id}.eml`]);
    const bytes = await readFile(join(folder, `${confirmation!.id}.eml`));
    // RFC 5322 section 2.1: lines end with CR and LF.
    expect(bytes.toString('latin1').replace(/\r\n/g, '')).not.toMatch(/[\r\n]/);
    await expectConfirmation(await simpleParser(bytes), confirmation!.id);
    expect(confirmation).toMatchObject({ state: 'sent', sentBy: 'outbox' });
  });

  it('written twice is one file', async () => {
    const outbox = new OutboxSender(folder);
    const mail = {
      messageId: '<one@example.org>',
      from: { name: 'Salon', address: 'salon@example.org' },
      to: { name: 'Zoë', address: 'zoe@example.org' },
      sentAt: 0,
      language: 'en',
      subject: 'Twice',
      text: 'Twice\n',
      html: '<p>Twice</p>',
    };
    await outbox.send(mail, new Patience(5_000, 0));
    await outbox.send(mail, new Patience(5_000, 0));
    expect(await readdir(folder)).toEqual(['one.eml']);
  });

  it('that cannot be written waits, and says why', async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const outbox = new OutboxSender('/dev/null/outbox');
    expect(await dispatcherOf(desk, outbox).deliverDue()).toMatchObject({ waiting: 1 });
    expect((await messagesOf(desk, id))[0]?.lastError).toMatch(/^The outbox folder could not be written: /);
  });
});
