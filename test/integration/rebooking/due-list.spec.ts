import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Book } from '../../../src/book/index.js';
import { Clients } from '../../../src/clients/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import {
  Checkout,
  Contacts,
  type DueClient,
  DueList,
  NotNows,
  Windows,
} from '../../../src/rebooking/index.js';
import { startTestApp, type TestApp } from '../../factories/app.js';
import { CROP } from '../../factories/cuts.js';

const DAY_MS = 86_400_000;

let test: TestApp;
let due: DueList;
let notNows: NotNows;
/** Cut 40, 20 and 2 days before the clock, in this order. */
let longAgo: string;
let lately: string;
let fresh: string;

const addClient = async (givenName: string) => {
  const added = await test.app
    .get(Clients, { strict: false })
    .add({ salonId: test.salon.id, givenName, email: `${givenName}@example.org` }, SYSTEM);
  return added.client.id;
};
const cut = async (clientId: string) => {
  const input = { clientId, staffId: test.mara.id, serviceId: test.fullCut.id, formula: CROP };
  return await test.app.get(Checkout, { strict: false }).walkIn(input, SYSTEM);
};
const until = async (date: string): Promise<DueClient[]> => await due.until(test.salon.id, date);
const namesUntil = async (date: string) => (await until(date)).map(({ clientName }) => clientName.trim());

beforeAll(async () => {
  test = await startTestApp('2026-05-01T10:00:00Z');
  due = test.app.get(DueList, { strict: false });
  notNows = test.app.get(NotNows, { strict: false });
  [longAgo, lately, fresh] = [await addClient('Aldith'), await addClient('Berwyn'), await addClient('Cerys')];
  await cut(longAgo);
  test.clock.at += 20 * DAY_MS;
  await cut(lately);
  test.clock.at += 18 * DAY_MS;
  await cut(fresh);
  test.clock.at += 2 * DAY_MS;
});
afterAll(() => test.close());

describe('the due list', () => {
  it('puts first whose shape has gone most likely, told by the engine for the single client', async () => {
    const clients = await until('2026-06-20');
    expect(clients.map(({ clientId }) => clientId)).toEqual([longAgo, lately]);
    const windows = test.app.get(Windows, { strict: false });
    for (const { clientId, goneProbability } of clients) {
      // The other way round: the window's own survival at the days since the cut.
      const window = await windows.compute(test.reader.manager, clientId);
      const days = clientId === longAgo ? 40 : 20;
      expect(goneProbability).toBeCloseTo(1 - window!.survival(days), 6);
    }
    expect(clients[0]!.goneProbability).toBeGreaterThan(clients[1]!.goneProbability);
    expect(clients[0]).toMatchObject({
      lastContact: { at: Date.parse('2026-05-01T10:00:00Z'), what: 'visit' },
      mayInvite: { mail: null, text: null },
      notNow: null,
    });
  });

  it('comes in pages, of one stylist or all, those long gone apart', async () => {
    const page = (changes: object) =>
      due.page(test.salon.id, { until: '2026-06-20', skip: 0, take: 10, ...changes });
    const [first, second] = [await page({ take: 1 }), await page({ skip: 1, take: 1 })];
    expect([first, second].map(({ clients }) => clients.map(({ clientId }) => clientId))).toEqual([
      [longAgo],
      [lately],
    ]);
    expect([first.total, second.total]).toEqual([2, 2]);
    // Both were cut by Mara and prefer nobody.
    expect((await page({ staffId: test.mara.id })).total).toBe(2);
    expect((await page({ staffId: test.ilan.id })).total).toBe(0);
    const clients = test.app.get(Clients, { strict: false });
    const prefer = async (preferredStaffId: string | null) => {
      const { version: expectedVersion } = await clients.get(lately);
      await clients.change(lately, { preferredStaffId, expectedVersion }, SYSTEM);
    };
    await prefer(test.ilan.id);
    const ilans = await page({ staffId: test.ilan.id });
    expect(ilans.clients.map(({ clientId }) => clientId)).toEqual([lately]);
    await prefer(null);
    const { latestOn } = first.clients[0]!;
    const split = { since: latestOn, only: false };
    expect(await page({ gone: split })).toMatchObject({ total: 1, setAside: 1 });
    const gone = await page({ gone: { ...split, only: true } });
    expect(gone.clients.map(({ clientId }) => clientId)).toEqual([longAgo]);
  });

  it('says which channels she allows, by her newest answer', async () => {
    const clients = test.app.get(Clients, { strict: false });
    const answer = (given: boolean) =>
      clients.setConsent(longAgo, { channel: 'mail', purpose: 'rebooking', given }, SYSTEM);
    await answer(true);
    expect((await until('2026-06-20'))[0]?.mayInvite).toEqual({ mail: true, text: null });
    test.clock.at += 1000;
    await answer(false);
    expect((await until('2026-06-20'))[0]?.mayInvite).toEqual({ mail: false, text: null });
  });

  it('lists who said "not now" with her reason, before her window opens too, until she is left alone', async () => {
    expect(await namesUntil('2026-06-10')).not.toContain('Cerys');
    await notNows.record(fresh, { reason: 'no-diary', words: 'Left it at work' }, SYSTEM);
    const [listed] = (await until('2026-06-10')).filter(({ clientId }) => clientId === fresh);
    expect(listed).toMatchObject({
      notNow: { reason: 'no-diary', words: 'Left it at work', askAgainOn: null },
      lastContact: { at: test.clock.now(), what: 'not now' },
    });
    test.clock.at += 1000;
    await notNows.record(fresh, { reason: 'away', askAgainOn: '2026-07-20' }, SYSTEM);
    expect(await namesUntil('2026-07-19')).not.toContain('Cerys');
    expect(await namesUntil('2026-07-20')).toContain('Cerys');
  });

  it('forgets a "not now" with the next cut, and who has booked until that is over', async () => {
    await notNows.record(longAgo, { reason: 'price' }, SYSTEM);
    test.clock.at += DAY_MS;
    await cut(longAgo);
    expect(await namesUntil('2026-06-12')).not.toContain('Aldith');
    const cutToday = (await until('2026-09-01')).find(({ clientId }) => clientId === longAgo);
    expect(cutToday?.notNow).toBeNull();
    expect(cutToday?.goneProbability).toBeLessThan(0.01);
    const booked = await test.app.get(Book, { strict: false }).book(
      {
        clientId: lately,
        staffId: test.mara.id,
        serviceId: test.tidy.id,
        date: '2026-06-20',
        time: '10:00',
      },
      SYSTEM,
    );
    expect(await namesUntil('2026-09-01')).not.toContain('Berwyn');
    const before = test.clock.at;
    // She sits in the chair until the end; who did not come is due again.
    test.clock.at = booked.endsAt - 1;
    expect(await namesUntil('2026-09-01')).not.toContain('Berwyn');
    test.clock.at = booked.endsAt;
    expect(await namesUntil('2026-09-01')).toContain('Berwyn');
    test.clock.at = before;
  });

  it('hears of contacts from rooms that come later', async () => {
    const at = test.clock.now() + 5;
    test.app
      .get(Contacts, { strict: false })
      .register(async (_, ids) => new Map(ids.map((id) => [id, { at, what: 'invitation by mail' }])));
    const [client] = await until('2026-09-01');
    expect(client?.lastContact).toEqual({ at, what: 'invitation by mail' });
  });

  it.each([
    ['reason', { reason: 'mood' }],
    ['words', { reason: 'other', words: 'x'.repeat(501) }],
    ['askAgainOn', { reason: 'away', askAgainOn: 'soon' }],
    ['askAgainOn', { reason: 'away', askAgainOn: '2026-05-01' }],
  ])('refuses a "not now" with a bad %s', async (field, input) => {
    await expect(notNows.record(fresh, input, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    await expect(notNows.record('nobody', { reason: 'away' }, SYSTEM)).rejects.toMatchObject({
      code: 'CLIENT.NOT_FOUND',
    });
  });
});
