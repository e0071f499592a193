import { createHmac } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { Client, Consent } from '../../src/clients/index.js';
import { TextReports } from '../../src/reminders/index.js';
import { oweForBooking } from '../../src/reminders/owing.js';
import { TextGateway } from '../../src/reminders/text-gateway.js';
import { newId } from '../../src/store/index.js';
import { startTestApp } from '../factories/app.js';
import { clientsOf } from '../factories/clients.js';
import {
  appointmentAt,
  KeepingSender,
  messagesOf,
  openDesk,
  partsOf,
  type TestDesk,
  testSettings,
} from '../factories/reminders.js';
import { openGateway, type TestGateway } from '../factories/reminders-gateway.js';

const SECRET = 'shared with the gateway';
const PHONE = '+442079460123';

let desk: TestDesk;
let gateway: TestGateway;
let env: NodeJS.ProcessEnv;
beforeEach(async () => {
  gateway = await openGateway();
  env = {
    TEXT_GATEWAY_URL: gateway.url,
    TEXT_GATEWAY_SECRET: SECRET,
    TEXT_GATEWAY_ALLOW_PRIVATE: '1',
  };
  desk = await openDesk({ email: null, phone: '020 7946 0123' });
});
afterEach(async () => {
  await gateway.close();
  await desk.close();
});

const gatewayOf = () => {
  const { textGateway } = testSettings(env);
  return new TextGateway(textGateway!, () => desk.clock.now());
};
const deliver = (policy = {}) =>
  partsOf(desk, new KeepingSender(), { env, policy, textSender: gatewayOf() }).dispatcher.deliverDue();

async function book(): Promise<Appointment> {
  const appointment = appointmentAt(desk, '2026-06-18T13:30:00Z');
  await desk.units.run(async (manager) => {
    await manager.insert(Appointment, appointment);
    await oweForBooking(manager, appointment, desk.clock.now(), ['mail', 'text']);
  });
  return appointment;
}

/** HMAC-SHA256 by RFC 2104 over the lines, written out anew here. */
function signed(values: readonly string[], secret = SECRET, now = desk.clock.now()): string {
  const t = Math.floor(now / 1000);
  return `t=${t},v1=${createHmac('sha256', secret)
    .update([`${t}`, ...values].join('\n'))
    .digest('hex')}`;
}

describe('texts', () => {
  it('go to a client without a mail address, signed, in the short form', async () => {
    const { id } = await book();
    expect(await deliver()).toMatchObject({ sent: 1 });
    const [confirmation] = await messagesOf(desk, id);
    const [request] = gateway.requests;
    expect(JSON.parse(request!.body)).toEqual({
      id: confirmation!.id,
      to: PHONE,
      from: 'Wren & Tallow',
      text: expect.stringMatching(
        /^Wren & Tallow: you are booked for Full cut with Mara Quillfeather, Thu,? 18 June?, 14:30\. Confirm, move or cancel: https:\/\/book\.example\.org:8443\/desk\/a\/[\w-]{32}$/,
      ),
    });
    expect(request).toMatchObject({
      method: 'POST',
      headers: {
        'idempotency-key': confirmation!.id,
        'content-type': 'application/json; charset=utf-8',
        'x-halfinch-signature': signed([request!.body]),
      },
    });
    expect(confirmation).toMatchObject({
      state: 'sent',
      sentBy: 'gateway',
      channel: 'text',
      address: PHONE,
      segments: 2,
      subject: '',
    });
  });

  it('come after mail where there is both, and only where they are set up and welcome', async () => {
    await desk.units.run((manager) =>
      manager.update(Client, { id: desk.client.id }, { email: 'ottilie@example.org' }),
    );
    const both = await book();
    expect((await messagesOf(desk, both.id))[0]).toMatchObject({ channel: 'mail' });
    await desk.units.run(async (manager) => {
      await manager.delete(Appointment, { id: both.id });
      await manager.update(Client, { id: desk.client.id }, { email: null });
      const no = { channel: 'text', purpose: 'appointment', given: false, source: 'desk' } as const;
      await manager.insert(Consent, {
        ...no,
        id: newId(),
        clientId: desk.client.id,
        at: desk.clock.now(),
        recordedById: null,
      });
    });
    const refused = await book();
    expect((await messagesOf(desk, refused.id))[0]).toMatchObject({
      state: 'unreachable',
      reason: 'refused',
    });
  });

  it.each([
    ['busy', 'The text gateway answered: 503 come back later'],
    ['forbid', 'The text gateway answered: 401 who are you?'],
    ['redirect', 'The text gateway answered: 302'],
    ['drop', /^The text gateway could not be reached: /],
    ['stall', 'The text gateway took too long to answer.'],
  ] as const)('wait and are tried again when the gateway is at fault: %s', async (behave, told) => {
    const { id } = await book();
    gateway.behave = behave;
    expect(await deliver({ sendWithinMs: 500 })).toMatchObject({ sent: 0, waiting: 1 });
    const [waiting] = await messagesOf(desk, id);
    expect(waiting?.lastError).toEqual(typeof told === 'string' ? told : expect.stringMatching(told));
    gateway.behave = 'well';
    desk.clock.at += 60_000;
    expect(await deliver()).toMatchObject({ sent: 1 });
    expect(gateway.texts.size).toBe(1);
  });

  it('taken by a gateway whose answer was lost carry the same key, so that the client gets one', async () => {
    await book();
    gateway.behave = 'take-and-drop';
    await deliver();
    gateway.behave = 'well';
    desk.clock.at += 60_000;
    expect(await deliver()).toMatchObject({ sent: 1 });
    expect(gateway.requests).toHaveLength(2);
    expect(gateway.texts.size).toBe(1);
  });

  it('refused for good fail at once, and tried anew by the desk are another text to the gateway', async () => {
    const { id } = await book();
    gateway.behave = 'refuse';
    expect(await deliver()).toMatchObject({ failed: 1 });
    const [failed] = await messagesOf(desk, id);
    expect(failed?.lastError).toBe('The text gateway answered: 422 no such number');
    gateway.behave = 'well';
    await desk.messages.retry(failed!.id, { accountId: null, role: 'system' });
    await deliver();
    expect([...gateway.texts.keys()]).toEqual([`${failed!.id}.1`]);
  });
});

describe('what the gateway tells us', () => {
  const reports = () =>
    new TextReports(desk.units, desk.reader, desk.clock, clientsOf(desk), testSettings(env));

  async function sentText(): Promise<string> {
    const { id } = await book();
    await deliver();
    const [message] = await messagesOf(desk, id);
    return message!.id;
  }
  const report = (id: string, status: string, more = {}, header = signed([id, status])) =>
    reports().report({ id, status, ...more }, header);
  const message = (id: string) => desk.messages.get(id);

  it('a text that never arrived becomes the desk’s, on the client’s list', async () => {
    const id = await sentText();
    await report(id, 'delivered');
    expect(await message(id)).toMatchObject({ state: 'sent' });
    await report(id, 'undelivered', { reason: 'absent subscriber' });
    await report(id, 'undelivered');
    const [line] = (await desk.messages.ofClient(desk.client.id)).filter((one) => one.id === id);
    expect(line).toMatchObject({
      state: 'failed',
      reason: 'undelivered',
      lastError: 'The text gateway reported that it was not delivered: absent subscriber',
    });
  });

  it('a late report of an earlier try changes nothing', async () => {
    const id = await sentText();
    await report(id, 'undelivered');
    await desk.messages.retry(id, { accountId: null, role: 'system' });
    await deliver();
    await report(id, 'undelivered');
    expect(await message(id)).toMatchObject({ state: 'sent' });
    await report(`${id}.1`, 'undelivered');
    expect(await message(id)).toMatchObject({ state: 'failed' });
  });

  it('is not believed without a fresh signature over just these values', async () => {
    const id = await sentText();
    const right = signed([id, 'undelivered']);
    const old = signed([id, 'undelivered'], SECRET, desk.clock.now() - 301_000);
    for (const header of [
      undefined,
      '',
      signed([id, 'delivered']),
      signed([id, 'undelivered'], 'another secret of theirs'),
      old,
      right.replace('v1=', 'v0='),
      `${right}00`,
    ]) {
      // An absent header is sent as such, not replaced by a right one.
      await expect(report(id, 'undelivered', {}, header ?? 'none')).rejects.toMatchObject({
        code: 'TEXT.SIGNATURE',
      });
    }
    expect(await message(id)).toMatchObject({ state: 'sent' });
  });

  it.each([
    [{ id: 'x', status: 'delivered' }, 'id'],
    [{ id: '018f0000-0000-7000-8000-000000000000', status: 'lost' }, 'status'],
  ])('is refused naming the field when it makes no sense: %j', async (input, field) => {
    const header = signed([input.id, input.status]);
    await expect(reports().report(input, header)).rejects.toMatchObject({ fields: [{ field }] });
  });

  const reply = (text: string, from = PHONE) => reports().reply({ from, text }, signed([from, text]));

  it.each(['STOP', 'stop.', ' Stop all ', 'Unsubscribe', 'opt out'])(
    'a client’s %j ends texts of every purpose at once',
    async (text) => {
      const { id } = await book();
      expect(await reply(text)).toEqual({ stopped: 1 });
      const answers = await clientsOf(desk).consents(desk.client.id);
      expect(answers).toHaveLength(2);
      for (const answer of answers) {
        expect(answer).toMatchObject({ channel: 'text', given: false, source: 'text', recordedById: null });
      }
      expect(await deliver()).toMatchObject({ sent: 0, unneeded: 1 });
      expect((await messagesOf(desk, id))[0]).toMatchObject({ state: 'unreachable', reason: 'refused' });
    },
  );

  it('other words, and other numbers, end nothing', async () => {
    expect(await reply('Please do not stop, see you Thursday')).toEqual({ stopped: 0 });
    expect(await reply('Cancel')).toEqual({ stopped: 0 });
    expect(await reply('STOP', '+442079460999')).toEqual({ stopped: 0 });
    expect(await clientsOf(desk).consents(desk.client.id)).toEqual([]);
  });

  it('comes in over the API without a sign-in, and without a signature is refused as a problem', async () => {
    const house = await startTestApp();
    try {
      for (const path of ['/api/v1/texts/reports', '/api/v1/texts/replies']) {
        const answer = await house.ask('nobody', 'POST', path, { id: 'x', status: 'delivered' });
        expect(answer).toMatchObject({ status: 403, type: expect.stringContaining('problem+json') });
        expect(answer.body).toMatchObject({ code: 'TEXT.SIGNATURE' });
      }
    } finally {
      await house.close();
    }
  });
});
