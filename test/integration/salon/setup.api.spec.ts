import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Account, type Role, SYSTEM } from '../../../src/identity/index.js';
import { Salons } from '../../../src/salon/index.js';
import { startTestApp, type TestApp } from '../../factories/app.js';
import { makeSalon } from '../../factories/salon.js';
import { Jar, openSession } from '../../factories/security.js';

let test: TestApp;
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z');
});
afterAll(() => test.close());

type Json = ReturnType<typeof JSON.parse>;
const ask = async (method: string, path: string, body?: object) => {
  const answer = await test.ask('owner', method, `/api/v1/${path}`, body);
  return { status: answer.status, body: answer.body as Json };
};

const WAVE = {
  name: 'Soft wave',
  kind: 'other',
  minutes: 90,
  priceMinor: 7000,
  resources: ['chair'],
  skills: ['waves'],
  steps: [
    { activity: 'active', minutes: 30 },
    { activity: 'processing', minutes: 40 },
    { activity: 'active', minutes: 20, resources: ['wash-basin'] },
  ],
};

it('sets up a service of steps, its chairs and basins, and a day of the rota', async () => {
  const made = await ask('POST', 'services', WAVE);
  expect(made).toMatchObject({ status: 201, body: { service: WAVE } });
  const { id } = made.body.service;
  const dearer = await ask('POST', `services/${id}/change`, { priceMinor: 7500 });
  expect(dearer.body.service).toMatchObject({ ...WAVE, priceMinor: 7500 });
  const bad = await ask('POST', `services/${id}/change`, { minutes: 100 });
  expect(bad).toMatchObject({ status: 422, body: { code: 'SERVICE.STEPS_INVALID' } });

  const chair = await ask('POST', 'resources', { kind: 'chair', name: 'Chair 1' });
  expect(chair.status).toBe(201);
  const path = `resources/${chair.body.resource.id}/change`;
  expect((await ask('POST', path, { name: 'By the window' })).body.resource).toMatchObject({
    kind: 'chair',
    name: 'By the window',
    active: true,
  });
  const stale = await ask('POST', path, { name: 'Else', expectedVersion: 1 });
  expect(stale).toMatchObject({ status: 409, body: { code: 'RESOURCE.STALE' } });
  expect((await ask('GET', 'resources')).body.resources).toHaveLength(1);

  const rota = `staff/${test.mara.id}/rota-changes`;
  const day = { onDate: '2026-06-09', entries: [{ startsAt: '10:00', endsAt: '11:00' }] };
  expect((await ask('PUT', rota, day)).status).toBe(204);
  expect((await ask('GET', rota)).body.changes).toMatchObject([
    { onDate: '2026-06-09', startsAt: '10:00', endsAt: '11:00' },
  ]);
  expect((await ask('DELETE', `${rota}/2026-06-09`)).status).toBe(204);
  expect((await ask('DELETE', `${rota}/tomorrow`)).status).toBe(422);
  expect((await ask('GET', rota)).body.changes).toEqual([]);
});

it('sets the notice for cancelling and a stylist’s skills', async () => {
  const changed = await ask('POST', 'salon/change', { cancelNoticeHours: 36 });
  expect(changed).toMatchObject({
    status: 200,
    body: { salon: { cancelNoticeHours: 36, name: 'Wren & Tallow' } },
  });
  expect(await ask('POST', 'salon/change', { cancelNoticeHours: -1 })).toMatchObject({
    status: 422,
    body: { fields: [{ field: 'cancelNoticeHours' }] },
  });
  const skilled = await ask('POST', `staff/${test.mara.id}/change`, { skills: ['waves'] });
  expect(skilled.body.staff).toMatchObject({ name: 'Mara Quillfeather', skills: ['waves'] });
});

it.each([
  ['POST', 'salon/change', { cancelNoticeHours: 1 }],
  ['POST', 'services', WAVE],
  ['POST', 'resources', { kind: 'room', name: 'Room' }],
])('lets only the owner %s %s', async (method, path, body) => {
  expect((await test.ask('desk', method, `/api/v1/${path}`, body)).status).toBe(403);
  expect((await test.ask('nobody', method, `/api/v1/${path}`, body)).status).toBe(401);
});

it.each([
  ['services', { ...WAVE, steps: 'long' }, 'steps'],
  ['services', { ...WAVE, steps: [{ activity: 'asleep', minutes: 90 }] }, 'steps.0.activity'],
  ['services', { ...WAVE, steps: [null] }, 'steps.0'],
  ['services', { ...WAVE, resources: ['throne'] }, 'resources'],
  ['services', { ...WAVE, skills: [''] }, 'skills'],
  ['resources', { kind: 'chair' }, 'name'],
  ['resources', [], undefined],
])('POST %s refuses %j, naming %s', async (path, body, field) => {
  const answer = await ask('POST', path, body);
  expect(answer.status).toBe(422);
  if (field) expect(answer.body.fields.map((problem: Json) => problem.field)).toContain(field);
});

describe('several salons', () => {
  let second: TestApp['salon'];
  beforeAll(async () => {
    const salons = test.app.get(Salons, { strict: false });
    second = (await makeSalon({ salons }, { name: 'Aster & Thimble', zone: 'Europe/Dublin' })).salon;
    const { id: accountId } = await test.reader.manager.findOneByOrFail(Account, { role: 'stylist' });
    await salons.changeStaff(test.mara.id, { accountId }, SYSTEM);
  });
  const of = async (role: Role, path: string, salonId?: string, kind: 'bearer' | 'cookie' = 'bearer') => {
    const token = await openSession(test.app, role);
    const headers =
      kind === 'bearer'
        ? { authorization: `Bearer ${token}`, ...(salonId && { 'halfinch-salon': salonId }) }
        : { cookie: `halfinch=${token}${salonId ? `; halfinch-salon=${salonId}` : ''}` };
    return await test.app.inject({ url: path, headers });
  };

  it('are chosen from by a header; without it a program is told which there are', async () => {
    const unsaid = await of('owner', '/api/v1/salon');
    expect(unsaid.statusCode).toBe(409);
    expect(unsaid.json()).toMatchObject({
      code: 'SALON.SEVERAL',
      salons: [{ name: 'Aster & Thimble' }, { name: 'Wren & Tallow' }],
    });
    for (const { id, name } of [second, test.salon]) {
      expect((await of('owner', '/api/v1/salon', id)).json()).toMatchObject({ salon: { id, name } });
    }
    expect((await of('owner', '/api/v1/salon', 'nothing')).statusCode).toBe(404);
    const day = await of('owner', '/api/v1/appointments', second.id);
    expect(day.json()).toMatchObject({ salonId: second.id, zone: 'Europe/Dublin' });
  });

  it('are one to somebody on the staff of one', async () => {
    expect((await of('stylist', '/api/v1/salons')).json()).toMatchObject({ salons: [{ id: test.salon.id }] });
    expect((await of('stylist', '/api/v1/salon')).json()).toMatchObject({ salon: { id: test.salon.id } });
    expect((await of('stylist', '/api/v1/salon', second.id)).statusCode).toBe(404);
  });

  it('are chosen from on a page, and kept by the browser', async () => {
    const settings = await of('owner', '/settings', undefined, 'cookie');
    expect(settings.statusCode).toBe(200);
    expect(settings.body).toContain('Which salon');
    const there = await of('owner', '/settings', test.salon.id, 'cookie');
    expect(there.body).toMatch(/Wren &amp; Tallow<\/strong> <span class="soft">shown here now/);
    const gone = await of('owner', '/today', 'nothing', 'cookie');
    expect(gone.statusCode).toBe(200);
    const own = await of('stylist', '/settings', second.id, 'cookie');
    expect(own.body).not.toContain('Which salon');
    expect(own.body).toContain('Wren &amp; Tallow');

    const jar = new Jar(test.app);
    jar.set('halfinch', await openSession(test.app, 'owner'));
    const _csrf = await jar.csrf();
    await jar.ask('POST', '/settings/choice', { _csrf, salonId: test.salon.id });
    expect((await jar.ask('GET', '/settings')).body).toMatch(
      /Wren &amp; Tallow<\/strong> <span class="soft">shown/,
    );
    const added = await jar.ask('POST', '/settings/salons', {
      _csrf: await jar.csrf(),
      name: 'Third & Last',
      address: '9 Rope Walk, Oxmarsh',
      phone: '020 7946 0399',
      email: 'third@example.org',
      zone: 'Mars/Olympus',
    });
    expect(added.statusCode).toBe(422);
    expect(added.body).toContain('IANA name');
    expect(added.body).toContain('9 Rope Walk');
  });
});
