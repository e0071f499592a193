import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Clients, Consent } from '../../src/clients/index.js';
import { CutFormula } from '../../src/cuts/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { ShapeWindow } from '../../src/rebooking/index.js';
import { Dispatcher, Message, MessageRules, SalonTemplate } from '../../src/reminders/index.js';
import { newId } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { CLIENT_INPUT } from '../factories/clients.js';
import { Jar, openSession } from '../factories/security.js';

describe('pages of messages', () => {
  let house: TestApp;
  let owner: Jar;
  let desk: Jar;
  let clientId: string;

  beforeAll(async () => {
    house = await startTestApp('2026-06-01T08:00:00Z');
    owner = new Jar(house.app);
    owner.set('halfinch', await openSession(house.app, 'owner'));
    desk = new Jar(house.app);
    desk.set('halfinch', await openSession(house.app, 'desk'));
    clientId = await add('Ottilie');
  });
  afterAll(() => house.close());

  async function add(givenName: string): Promise<string> {
    const { client } = await house.app.get(Clients, { strict: false }).add(
      {
        ...CLIENT_INPUT,
        givenName,
        salonId: house.salon.id,
        email: `${givenName.toLowerCase()}@example.org`,
      },
      SYSTEM,
    );
    return client.id;
  }
  const post = async (jar: Jar, url: string, form: Record<string, string>) =>
    await jar.ask('POST', url, { _csrf: await jar.csrf('/messages'), ...form });
  const dispatcher = () => house.app.get(Dispatcher, { strict: false });

  describe('words of the salon’s own', () => {
    const path = '/messages/words/appointment-confirmation/mail/en';
    const form = { subject: 'See you {{date}}', body: 'Dear {{clientName}},\n\nsee you at {{time}}.' };

    it('are listed and opened with the program’s words in them', async () => {
      const list = await owner.ask('GET', '/messages/words');
      expect(list.statusCode).toBe(200);
      expect(list.body).toContain(`href="${path}"`);
      const page = await owner.ask('GET', path);
      expect(page.body).toContain('Your appointment is booked.');
      expect(page.body).toContain('{{stylistName}}');
      expect(page.body).toContain('How it reads');
    });

    it('show how they read for a real client, and keep nothing by that', async () => {
      await house.ask('desk', 'POST', '/api/v1/appointments', {
        clientId,
        staffId: house.mara.id,
        serviceId: house.fullCut.id,
        date: '2026-06-18',
        time: '14:30',
      });
      const page = await post(owner, path, { ...form, clientId, expectedNumber: '0', act: 'preview' });
      expect(page.statusCode).toBe(200);
      expect(page.body).toContain('Dear Ottilie,');
      expect(page.body).toMatch(/See you Thursday,? 18 June 2026/);
      expect(page.body).toContain('see you at 14:30.');
      expect(await house.reader.manager.count(SalonTemplate)).toBe(0);
    });

    it.each([
      [{ body: 'Dear {{clientNmae}}' }, 'clientNmae'],
      [{ body: '{{#if clientName}}' }, 'The text'],
      [{ body: '' }, 'write what the message says'],
      [{ subject: '' }, 'write what the mail is about'],
      [{ subject: '{{nonesuch}}' }, 'nonesuch'],
    ])('are not kept when they cannot be sent: %j', async (wrong, told) => {
      const page = await post(owner, path, { ...form, ...wrong, expectedNumber: '0', act: 'save' });
      expect(page.statusCode).toBe(422);
      expect(page.body).toContain(told);
      expect(await house.reader.manager.count(SalonTemplate)).toBe(0);
    });

    it('are used from then on, and the message keeps which version it was made from', async () => {
      const saved = await post(owner, path, { ...form, expectedNumber: '0', act: 'save' });
      expect(saved.statusCode).toBe(303);
      const stale = await post(owner, path, { ...form, expectedNumber: '0', act: 'save' });
      expect(stale.statusCode).toBe(409);
      expect(stale.body).toContain('Somebody saved other words');

      await dispatcher().deliverDue();
      const sent = await house.reader.manager.findOneByOrFail(Message, { clientId, state: 'sent' });
      expect(sent).toMatchObject({ template: 'salon:1', body: 'Dear Ottilie,\n\nsee you at 14:30.' });
      const page = await desk.ask('GET', `/messages/${sent.id}`);
      expect(page.body).toContain('your own words, version 1');
      expect(page.body).toContain('No texts are sent: no text gateway is set up.');
    });

    it('can be given up for the program’s', async () => {
      const back = await post(owner, path, { act: 'restore' });
      expect(back.statusCode).toBe(303);
      const page = await owner.ask('GET', path);
      expect(page.body).toContain('Your appointment is booked.');
      expect(await house.reader.manager.count(SalonTemplate)).toBe(2);
    });

    it('of a text tell its segments', async () => {
      const text = '/messages/words/appointment-confirmation/text/en';
      const short = await post(owner, text, { body: 'See you {{time}}', act: 'preview' });
      expect(short.body).toContain('Goes out as 1 segment (');
      const long = await post(owner, text, { body: `ê${'a'.repeat(70)}`, act: 'preview' });
      expect(long.body).toContain('2 segments (71 units of UCS-2');
    });

    it('are the owner’s alone, and there are none of a kind that is not', async () => {
      expect((await desk.ask('GET', path)).statusCode).toBe(403);
      expect((await owner.ask('GET', '/messages/words/nonesuch/mail/en')).statusCode).toBe(422);
      expect((await owner.ask('GET', '/messages/words/no-show/smoke/en')).statusCode).toBe(422);
    });
  });

  describe('rules', () => {
    it('are shown as they stand and kept when they make sense', async () => {
      expect((await owner.ask('GET', '/messages/rules')).body).toContain('value="48"');
      const form = {
        reminderHours: '24, 168',
        quietFrom: '19:30',
        quietUntil: '10:00',
        nudgeMost: '3',
        nudgeWeeks: '12',
      };
      const wrong = await post(owner, '/messages/rules', {
        ...form,
        reminderHours: 'a day',
        nudgeMost: '99',
      });
      expect(wrong.statusCode).toBe(422);
      expect(wrong.body).toContain('Reminders: give whole hours');
      expect(wrong.body).toContain('Invitations: give a whole number');
      expect(await house.reader.manager.count(MessageRules)).toBe(0);
      for (const _ of [1, 2]) expect((await post(owner, '/messages/rules', form)).statusCode).toBe(303);
      expect(await house.reader.manager.find(MessageRules)).toMatchObject([
        { reminderHours: [168, 24], quietFrom: '19:30', nudgeMost: 3, nudgeWeeks: 12 },
      ]);
    });
  });

  describe('invitations to many', () => {
    beforeAll(async () => {
      for (let i = 0; i < 12; i += 1) {
        const id = await add(`Guest${i}`);
        const formulaId = newId();
        await house.units.run(async (manager) => {
          const yes = { channel: 'mail', purpose: 'rebooking', given: true, source: 'desk' } as const;
          await manager.insert(Consent, {
            ...yes,
            id: newId(),
            clientId: id,
            at: house.clock.now(),
            recordedById: null,
          });
          await manager.insert(CutFormula, {
            id: formulaId,
            salonId: house.salon.id,
            clientId: id,
            name: 'Short back',
            cutOn: '2026-04-20',
          } as CutFormula);
          await manager.insert(ShapeWindow, {
            id: newId(),
            salonId: house.salon.id,
            clientId: id,
            formulaId,
            earliestOn: '2026-06-05',
            dueOn: '2026-06-08',
            latestOn: '2026-06-20',
            firstZone: 'nape',
            reason: 'the nape has grown by 15 mm',
            computedAt: house.clock.now(),
            packed: '',
            cutOn: '2026-04-20',
          });
        });
      }
      house.clock.at = Date.parse('2026-06-01T10:00:00Z');
    });

    it('say first how many they would reach', async () => {
      expect((await desk.ask('GET', '/messages/runs?until=2026-06-04')).body).toMatch(/>0 clients</);
      expect((await desk.ask('GET', '/messages/runs?until=2026-06-05')).body).toMatch(/>12 clients</);
      for (const until of ['2026-05-31', '2027-01-01', 'soon']) {
        const page = await desk.ask('GET', `/messages/runs?until=${until}`);
        expect(page.statusCode).toBe(422);
        expect(page.body).toContain('Until: ');
      }
    });

    it('show how far they have come without a script, and can be stopped', async () => {
      const started = await post(desk, '/messages/runs', { until: '2026-06-05' });
      expect(started.statusCode).toBe(303);
      const path = String(started.headers['location']);
      await dispatcher().deliverDue(4);
      const page = await desk.ask('GET', path);
      expect(page.headers['refresh']).toBe('2');
      expect(page.body).toContain('max="12" value="4"');
      expect(page.body).toContain('4 of 12 done');

      const stopped = await post(desk, `${path}/stop`, {});
      expect(stopped.statusCode).toBe(303);
      await dispatcher().deliverDue();
      const after = await desk.ask('GET', path);
      expect(after.headers['refresh']).toBeUndefined();
      expect(after.body).toContain('Stopped at the desk.');
      expect(
        await house.reader.manager.countBy(Message, {
          kind: 'shape-due',
          state: 'withdrawn',
          reason: 'stopped',
        }),
      ).toBe(8);
      expect(await house.reader.manager.countBy(Message, { kind: 'shape-due', state: 'sent' })).toBe(4);
    });

    it('reach nobody twice for the same shape', async () => {
      const again = await post(desk, '/messages/runs', { until: '2026-06-05' });
      expect(again.statusCode).toBe(409);
      expect(again.body).toContain('There is nobody to invite');
      expect((await desk.ask('GET', '/messages/runs/nonesuch')).statusCode).toBe(404);
    });
  });
});
