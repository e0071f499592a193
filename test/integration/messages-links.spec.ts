import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Clients, Consent } from '../../src/clients/index.js';
import { AuditEntry, SYSTEM } from '../../src/identity/index.js';
import { Dispatcher, Message } from '../../src/reminders/index.js';
import { Links } from '../../src/reminders/links.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CLIENT_INPUT } from '../factories/clients.js';

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
