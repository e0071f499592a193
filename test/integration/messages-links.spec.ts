import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import ICAL from 'ical.js';
import { simpleParser } from 'mailparser';
import { Clients, Consent } from '../../src/clients/index.js';
import { AuditEntry, SYSTEM } from '../../src/identity/index.js';
import { Dispatcher, Message, Upkeep } from '../../src/reminders/index.js';
import { Links } from '../../src/reminders/links.js';
import { SETTINGS, type Settings } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CLIENT_INPUT } from '../factories/clients.js';
import { CROP } from '../factories/cuts.js';

/*
 * RFC 8058 section 3: the mail program posts "List-Unsubscribe=One-Click" to the link, without cookies, without having
 * looked at it first, and expects no more questions.
 */
describe('the link that ends messages', () => {
  let house: TestApp;
  let links: Links;
  let clientId: string;
  beforeEach(async () => {
    house = await startTestApp();
    links = house.app.get(Links, { strict: false });
    const { client } = await house.app
      .get(Clients, { strict: false })
      .add({ ...CLIENT_INPUT, salonId: house.salon.id, email: 'ottilie@example.org' }, SYSTEM);
    clientId = client.id;
  });
  afterEach(() => house.close());

  const pathOf = (purpose: 'appointment' | 'rebooking', channel: 'mail' | 'text' = 'mail') =>
    new URL(links.unsubscribeUrl({ clientId, channel, purpose })).pathname;
  const oneClick = (url: string) =>
    house.app.inject({
      method: 'POST',
      url,
      headers: { 'content-type': 'application/x-www-form-urlencoded' },
      payload: 'List-Unsubscribe=One-Click',
    });
  const answers = () =>
    house.reader.manager.find(Consent, { where: { clientId }, order: { at: 'ASC', id: 'ASC' } });
  const booking = () =>
    house.ask('desk', 'POST', '/api/v1/appointments', {
      clientId,
      staffId: house.mara.id,
      serviceId: house.fullCut.id,
      date: '2026-06-18',
      time: '14:30',
    });

  it('asks first and changes nothing when it is only looked at', async () => {
    const page = await house.app.inject({ method: 'GET', url: pathOf('rebooking') });
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('mails that invite you to come again');
    expect(page.body).not.toContain('Ottilie');
    expect(await answers()).toEqual([]);
  });

  it('ends by one click, without cookies, for its own channel and purpose only', async () => {
    const done = await oneClick(pathOf('rebooking'));
    expect(done.statusCode).toBe(200);
    expect(await answers()).toMatchObject([
      { channel: 'mail', purpose: 'rebooking', given: false, source: 'link', recordedById: null },
    ]);
    expect(await house.reader.manager.countBy(AuditEntry, { action: 'client.consent' })).toBe(1);
    expect((await booking()).status).toBe(201);
    expect(await house.reader.manager.countBy(Message, { clientId, state: 'owed' })).toBe(2);
  });

  it('ends what is owed already, at once, and can be taken back', async () => {
    await booking();
    const path = pathOf('appointment');
    await oneClick(path);
    const dispatcher = house.app.get(Dispatcher, { strict: false });
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 0, unneeded: 1 });
    expect(await house.reader.manager.findBy(Message, { clientId, reason: 'refused' })).toHaveLength(1);

    const back = await house.app.inject({ method: 'POST', url: `${path}/resume` });
    expect(back.statusCode).toBe(200);
    expect((await answers()).map(({ given }) => given)).toEqual([false, true]);
  });

  it('cannot be made by others, nor turned to another client, channel or purpose', async () => {
    const path = pathOf('rebooking');
    const [, id, mac] = /\/unsubscribe\/([^.]+)\.mail\.rebooking\.(.+)$/.exec(path) ?? [];
    expect(Buffer.from(mac!, 'base64url')).toHaveLength(32);
    for (const wrong of [
      `/unsubscribe/${id}.mail.appointment.${mac}`,
      `/unsubscribe/${id}.text.rebooking.${mac}`,
      `/unsubscribe/${house.salon.id}.mail.rebooking.${mac}`,
      `/unsubscribe/${id}.mail.rebooking.`,
      `/unsubscribe/${id}.mail.rebooking`,
      `/unsubscribe/${id}.mail.rebooking.${'A'.repeat(43)}`,
      '/unsubscribe/x',
    ]) {
      expect((await oneClick(wrong)).statusCode).toBe(404);
      expect((await house.app.inject({ method: 'GET', url: wrong })).statusCode).toBe(404);
    }
    expect(await answers()).toEqual([]);
  });

  it('opens no other door: pages that act for a session still want its token', async () => {
    for (const url of ['/sign-in', '/unsubscribe/../messages/x/retry', '/messages/x/retry']) {
      const answer = await house.app.inject({
        method: 'POST',
        url,
        headers: { 'content-type': 'application/x-www-form-urlencoded' },
        payload: 'a=b',
      });
      expect(answer.statusCode).toBe(403);
    }
  });
});

describe('the private links in messages', () => {
  let house: TestApp;
  let clientIds: string[];
  beforeAll(async () => {
    house = await startTestApp();
    const clients = house.app.get(Clients, { strict: false });
    clientIds = [];
    for (const email of ['ottilie@example.org', 'perpetua@example.org']) {
      const input = { ...CLIENT_INPUT, salonId: house.salon.id, email, phone: null };
      clientIds.push((await clients.add(input, SYSTEM)).client.id);
    }
  });
  afterAll(() => house.close());

  const deliver = () => house.app.get(Dispatcher, { strict: false }).deliverDue();
  /** The newest mail of a kind to a client, as it lies in the outbox, with what the database kept of it. */
  const mailOf = async (clientId: string, kind: Message['kind']) => {
    const message = await house.reader.manager.findOneOrFail(Message, {
      where: { clientId, kind, state: 'sent' },
      order: { id: 'DESC' },
    });
    const { outboxDir } = house.app.get<Settings>(SETTINGS, { strict: false });
    const mail = await simpleParser(await readFile(join(outboxDir, `${message.id}.eml`)));
    const [url = ''] = /http:\/\/localhost:4180\/[aon]\/[\w-]{32}(?!\w)/.exec(mail.text ?? '') ?? [];
    return { message, mail, url, path: url && new URL(url).pathname };
  };
  const ask = async (method: 'GET' | 'POST', url: string) => {
    const { statusCode, body } = await house.app.inject({ method, url });
    return { status: statusCode, body };
  };

  it('open the appointment, also from its calendar entry; what is kept of the mail does not', async () => {
    const booked = await house.ask('desk', 'POST', '/api/v1/appointments', {
      clientId: clientIds[0],
      staffId: house.mara.id,
      serviceId: house.fullCut.id,
      date: '2026-06-18',
      time: '14:30',
    });
    expect(booked.status).toBe(201);
    await deliver();
    const { message, mail, url, path } = await mailOf(clientIds[0]!, 'appointment-confirmation');
    expect(mail.html).toContain(`href="${url}"`);
    const calendar = new ICAL.Component(ICAL.parse(mail.attachments[0]!.content.toString()));
    expect(calendar.getFirstSubcomponent('vevent')?.getFirstPropertyValue('url')).toBe(url);
    expect((await ask('GET', path)).body).toContain('Thu, 18 June 2026, 14:30');
    expect(message.body).toContain('[private link]');
    expect(JSON.stringify(await house.reader.manager.query('SELECT * FROM message'))).not.toContain(
      path.slice('/a/'.length),
    );
    expect((await ask('POST', `${path}/confirm`)).status).toBe(303);
    const [row] = await house.reader.manager.query(
      `SELECT "confirmedAt" FROM appointment WHERE id = '${message.appointmentId}'`,
    );
    expect(Number(row.confirmedAt)).toBe(house.clock.now());
  });

  it('offer a freed time to those who wait; who was slower hears of it kindly, and only if she had heard', async () => {
    const freed = {
      staffId: house.ilan.id,
      startsAt: Date.parse('2026-06-19T09:00Z'),
      endsAt: Date.parse('2026-06-19T09:45Z'),
    };
    const third = await house.app
      .get(Clients, { strict: false })
      .add({ ...CLIENT_INPUT, salonId: house.salon.id, email: 'late@example.org', phone: null }, SYSTEM);
    const entryIds: unknown[] = [];
    for (const clientId of [...clientIds, third.client.id]) {
      const waits = { clientId, serviceId: house.fullCut.id, fromDate: '2026-06-19', toDate: '2026-06-19' };
      const { body } = await house.ask('desk', 'POST', '/api/v1/waiting', waits);
      entryIds.push((body as { entry: { id: string } }).entry.id);
    }
    const offer = { ...freed, entryIds };
    expect((await house.ask('desk', 'POST', '/api/v1/offers', offer)).status).toBe(201);
    // As if the third had no chance to be written to yet.
    await house.units.run((manager) =>
      manager.update(
        Message,
        { clientId: third.client.id, kind: 'waiting-offer' },
        { dueAt: house.clock.now() + 3_600_000 },
      ),
    );
    expect(await deliver()).toMatchObject({ sent: 2 });
    const first = await mailOf(clientIds[0]!, 'waiting-offer');
    const second = await mailOf(clientIds[1]!, 'waiting-offer');
    expect(second.mail.subject).toMatch(
      /^A time has become free at Wren & Tallow: Friday,? 19 June 2026, 10:00$/,
    );
    expect((await ask('POST', `${second.path}/accept`)).status).toBe(303);
    expect((await ask('POST', `${first.path}/accept`)).status).toBe(409);
    expect(await deliver()).toMatchObject({ sent: 2, failed: 0 });
    expect((await mailOf(clientIds[0]!, 'waiting-gone')).mail.text).toContain('Sorry, somebody was quicker');
    const confirmed = await mailOf(clientIds[1]!, 'appointment-confirmation');
    expect((await ask('GET', confirmed.path)).body).toContain('You have told us that you will come');
    const told = await house.reader.manager.findBy(Message, { clientId: third.client.id });
    expect(told).toMatchObject([{ kind: 'waiting-offer', state: 'withdrawn', reason: 'over' }]);
  });

  it('lead from "your shape is due" to free times; the due list knows of the letter', async () => {
    const clientId = clientIds[0]!;
    const clients = house.app.get(Clients, { strict: false });
    await house.units.run((manager) =>
      manager.query(`UPDATE appointment SET state = 'cancelled' WHERE "clientId" = '${clientId}'`),
    );
    const yes = { channel: 'mail', purpose: 'rebooking', given: true, source: 'desk' };
    await clients.setConsent(clientId, yes, SYSTEM);
    const visit = {
      clientId,
      staffId: house.mara.id,
      serviceId: house.fullCut.id,
      formula: CROP,
    };
    expect((await house.ask('stylist', 'POST', '/api/v1/visits', visit)).status).toBe(201);
    house.clock.at = Date.parse('2026-06-20T08:00:00Z');
    await house.app.get(Upkeep, { strict: false }).run();
    expect(await deliver()).toMatchObject({ sent: 1 });
    const { path, mail } = await mailOf(clientId, 'shape-due');
    expect(mail.text).toContain('Choose a time that fits: http://localhost:4180/n/');
    expect((await ask('GET', path)).body).toContain('Press a time and it is booked for you');
    const { due } = (await house.ask('desk', 'GET', '/api/v1/due?until=2026-07-20')).body as {
      due: { clientId: string; lastContact: unknown }[];
    };
    expect(due.find((one) => one.clientId === clientId)?.lastContact).toEqual({
      at: house.clock.now(),
      what: 'invitation by mail',
    });
  });
});
