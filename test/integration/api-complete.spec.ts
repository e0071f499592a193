import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { type DeclaredRoute, declaredRoutes } from '../../src/http/routes.js';
import { ACCESS, FirstOwner } from '../../src/identity/index.js';
import { PASSWORD, startTestApp, type TestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';
import { PAGE_ACTIONS } from '../factories/page-actions.js';

// Hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

type Json = ReturnType<typeof JSON.parse>;

let test: TestApp;
beforeAll(async () => {
  test = await startTestApp('2026-06-01T08:00:00Z');
});
afterAll(() => test.close());

const ask = async (
  role: Parameters<TestApp['ask']>[0],
  method: string,
  path: string,
  body?: unknown,
): Promise<{ status: number; body: Json }> => await test.ask(role, method, `/api/v1/${path}`, body);

const refusal = (status: number, code: string, field?: string) => ({
  status,
  body: { code, ...(field && { fields: expect.arrayContaining([expect.objectContaining({ field })]) }) },
});

describe('API v1 beside the pages', () => {
  let routes: DeclaredRoute[];
  beforeAll(() => {
    routes = declaredRoutes(test.app);
  });
  const named = ({ method, path }: DeclaredRoute) => `${method} ${path}`;
  const isPage = ({ path }: DeclaredRoute) => !/^\/(api|health)\//.test(path);

  it('has a route, or a reason for none, for everything that a page shows or does', () => {
    const pages = routes.filter(isPage).map(named);
    expect(pages.length).toBeGreaterThan(150);
    expect(Object.keys(PAGE_ACTIONS).sort()).toEqual(pages.sort());
  });

  it('names no route that there is not, and leaves no form that writes to a reason', () => {
    const served = new Map(routes.map((route) => [named(route), route]));
    const wrong = Object.entries(PAGE_ACTIONS).flatMap(([page, action]) => {
      if ('why' in action) {
        const isChoice = page === 'POST /settings/choice';
        return page.startsWith('POST') && !isChoice ? [`${page}: ${action.why}`] : [];
      }
      return action
        .map((route) => route.replace(' ', ' /api/v1'))
        .filter((route) => !served.has(route))
        .map((route) => `${page}: there is no ${route}`);
    });
    expect(wrong).toEqual([]);
  });

  it('lets whoever may do it on the page do it over the API', () => {
    const served = new Map(routes.map((route) => [named(route), route]));
    const rolesOf = ({ need }: DeclaredRoute): readonly string[] =>
      need === undefined || need === 'open' ? ['everybody'] : ACCESS[need];
    const wrong = Object.entries(PAGE_ACTIONS).flatMap(([page, action]) => {
      const may = served.get(page);
      if ('why' in action || may === undefined || page.startsWith('GET')) return [];
      // Several routes for one form may each be somebody's: together they serve all who have the page.
      const api = new Set(
        action.flatMap((route) => {
          const found = served.get(route.replace(' ', ' /api/v1'));
          return found ? rolesOf(found) : [];
        }),
      );
      const missing = rolesOf(may).filter((role) => !api.has(role));
      return missing.length > 0 ? [`${page} (${may.need}): not for ${missing.join(', ')}`] : [];
    });
    expect(wrong).toEqual([]);
  });
});

describe("one's own account over the API", () => {
  it('shows it, sets and takes the PIN, and asks for the password first', async () => {
    const mine = await ask('stylist', 'GET', 'account');
    expect(mine.body.account).toMatchObject({ email: 'stylist@wren-tallow.example.org', hasPin: false });
    const pin = { presentPassword: PASSWORD, pin: '4827' };
    expect((await ask('stylist', 'PUT', 'account/pin', pin)).status).toBe(204);
    expect((await ask('stylist', 'GET', 'account')).body.account.hasPin).toBe(true);
    const wrong = await ask('stylist', 'PUT', 'account/pin', { ...pin, presentPassword: 'no' });
    expect(wrong).toMatchObject(refusal(422, 'ACCOUNT.PASSWORD_WRONG', 'presentPassword'));
    const easy = await ask('stylist', 'PUT', 'account/pin', { ...pin, pin: '1111' });
    expect(easy).toMatchObject(refusal(422, 'ACCOUNT.PIN_EASY', 'pin'));
    const same = { presentPassword: PASSWORD, password: 'short' };
    expect(await ask('stylist', 'PUT', 'account/password', same)).toMatchObject(
      refusal(422, 'ACCOUNT.PASSWORD_SHORT', 'password'),
    );
  });

  it('switches at a shared desk by PIN, and ends the desk', async () => {
    const desk = await ask('owner', 'POST', 'account/desk');
    expect(desk.status).toBe(201);
    const { token } = desk.body;
    const { people } = (await ask('nobody', 'POST', 'desk/people', { desk: token })).body;
    expect(people.map(({ name }: Json) => name)).toEqual(['The stylist']);
    const wanted = { desk: token, accountId: people[0].id, pin: '4827' };
    expect(await ask('nobody', 'POST', 'desk/sessions', { ...wanted, pin: '4828' })).toMatchObject(
      refusal(409, 'PIN.REFUSED', 'pin'),
    );
    const switched = await ask('nobody', 'POST', 'desk/sessions', wanted);
    expect(switched.status).toBe(201);
    const asSwitched = (url: string) =>
      test.app.inject({ url, headers: { authorization: `Bearer ${switched.body.token}` } });
    expect((await asSwitched('/api/v1/appointments')).statusCode).toBe(200);
    // By PIN nobody touches the ways in.
    expect((await asSwitched('/api/v1/account')).statusCode).toBe(403);
    expect((await ask('nobody', 'POST', 'desk/end', { desk: token })).status).toBe(204);
    expect((await asSwitched('/api/v1/appointments')).statusCode).toBe(401);
    expect((await ask('nobody', 'POST', 'desk/people', { desk: token })).body.people).toBeNull();
    expect(await ask('nobody', 'POST', 'desk/people', {})).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'desk'),
    );
  });

  it('switches codes on only with what the authenticator shows, and lists and ends sessions', async () => {
    const { secret, uri } = (await ask('desk', 'GET', 'account/codes/secret')).body;
    expect(secret).toMatch(/^[A-Z2-7]{32}$/);
    expect(uri).toContain(secret);
    const on = { presentPassword: PASSWORD, secret, code: '000000' };
    expect(await ask('desk', 'PUT', 'account/codes', on)).toMatchObject(
      refusal(422, 'ACCOUNT.CODE_WRONG', 'code'),
    );
    const off = { presentPassword: PASSWORD };
    expect((await ask('desk', 'POST', 'account/codes/off', off)).status).toBe(204);
    const other = await ask('nobody', 'POST', 'sessions', {
      email: 'owner@wren-tallow.example.org',
      password: PASSWORD,
    });
    const { sessions } = (await ask('owner', 'GET', 'account/sessions')).body;
    expect(sessions[0]).toMatchObject({ kind: 'api', startedAt: test.clock.now() });
    const ended = [];
    for (const { id } of sessions.slice(0, 1)) {
      ended.push((await ask('owner', 'DELETE', `account/sessions/${id}`)).status);
    }
    expect(ended).toEqual([204]);
    const gone = await test.app.inject({
      url: '/api/v1/account',
      headers: { authorization: `Bearer ${other.body.token}` },
    });
    expect(gone.statusCode).toBe(401);
    expect(await ask('owner', 'DELETE', `account/sessions/${sessions[0].id}`)).toMatchObject(
      refusal(404, 'SESSION.NOT_FOUND'),
    );
  });

  it('lets the owner add, close and open accounts, and a link set the first password', async () => {
    const person = { email: 'ines@example.org', name: 'Ines Corrow', role: 'desk' };
    const made = await ask('owner', 'POST', 'people', person);
    expect(made).toMatchObject({ status: 201, body: { account: { name: 'Ines Corrow', active: true } } });
    const { id } = made.body.account;
    expect(await ask('owner', 'POST', 'people', person)).toMatchObject(
      refusal(409, 'ACCOUNT.EMAIL_TAKEN', 'email'),
    );
    expect(await ask('owner', 'POST', 'people', { ...person, role: 'boss' })).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'role'),
    );
    const { link } = (await ask('owner', 'POST', `people/${id}/link`)).body;
    const token = new URL(link).searchParams.get('link');
    const use = { link: token, password: 'a heron on a green gate' };
    expect((await ask('nobody', 'POST', 'password-links/use', use)).status).toBe(204);
    expect(await ask('nobody', 'POST', 'password-links/use', use)).toMatchObject({ status: 409 });
    const session = { email: person.email, password: use.password };
    expect((await ask('nobody', 'POST', 'sessions', session)).status).toBe(201);
    expect((await ask('owner', 'DELETE', `people/${id}/sessions`)).status).toBe(204);
    expect((await ask('owner', 'DELETE', `people/${id}/codes`)).status).toBe(204);
    expect((await ask('owner', 'POST', `people/${id}/closing`)).body.account.active).toBe(false);
    expect((await ask('nobody', 'POST', 'sessions', session)).status).toBe(401);
    expect((await ask('owner', 'POST', `people/${id}/opening`)).body.account.active).toBe(true);
    expect(JSON.stringify((await ask('owner', 'GET', 'people')).body)).toContain(id);
    expect((await ask('desk', 'GET', 'people')).status).toBe(403);
    const asked = await ask('nobody', 'POST', 'password-links', { email: 'nobody@example.org' });
    expect(asked).toMatchObject({ status: 202, body: { taken: true } });
  });

  it('sets up an installation once', async () => {
    const { code } = test.app.get(FirstOwner);
    const first = { name: 'A', email: 'a@example.org', password: PASSWORD, code, salon: {} };
    expect(await ask('nobody', 'POST', 'set-up', first)).toMatchObject(refusal(409, 'SET_UP.DONE'));
    expect(await ask('nobody', 'POST', 'set-up', { ...first, email: 'a' })).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'email'),
    );
  });
});

describe('the salon, its people and their days over the API', () => {
  it('sets hours, adds staff with a week, closes days and names what lies outside', async () => {
    const hours = [{ weekday: 2, opensAt: '09:00', closesAt: '18:00' }];
    const set = await ask('owner', 'PUT', 'salon/hours', { entries: hours });
    expect(set).toMatchObject({ status: 200, body: { hours } });
    const upside = [{ weekday: 2, opensAt: '18:00', closesAt: '09:00' }];
    expect(await ask('owner', 'PUT', 'salon/hours', { entries: upside })).toMatchObject(
      refusal(422, 'SALON.HOURS_INVALID', 'entries.0.closesAt'),
    );
    const added = await ask('owner', 'POST', 'staff', { name: 'Perrin Ashdale' });
    expect(added).toMatchObject({ status: 201, body: { staff: { cutsHair: true } } });
    const { id } = added.body.staff;
    expect(await ask('owner', 'POST', 'staff', { name: '' })).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'name'),
    );
    const week = [{ weekday: 3, startsAt: '10:00', endsAt: '16:00' }];
    const rota = await ask('desk', 'PUT', `staff/${id}/rota`, { entries: week });
    expect(rota).toMatchObject({ status: 200, body: { entries: week } });
    expect((await ask('stylist', 'GET', `staff/${id}/rota`)).body.entries).toMatchObject(week);
    expect(
      await ask('desk', 'PUT', `staff/${id}/rota`, { entries: [{ ...week[0], weekday: 8 }] }),
    ).toMatchObject(refusal(422, 'INPUT.INVALID'));
    const none = '00000000-0000-7000-8000-000000000000';
    expect(await ask('desk', 'GET', `staff/${none}/rota`)).toMatchObject(refusal(404, 'STAFF.NOT_FOUND'));

    const guest = await ask('desk', 'POST', 'clients', { givenName: 'Oriel' });
    const booked = await ask('desk', 'POST', 'appointments', {
      clientId: guest.body.client.id,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      date: '2026-06-09',
      time: '10:00',
    });
    const appointmentId = booked.body.appointment.id;
    expect((await ask('desk', 'GET', `appointments/${appointmentId}`)).body.appointment).toMatchObject({
      id: appointmentId,
      state: 'booked',
    });
    const days = { startsOn: '2026-06-09', endsOn: '2026-06-09', reason: 'Painters' };
    const closed = await ask('desk', 'POST', 'closures', days);
    expect(closed.status).toBe(201);
    expect((await ask('desk', 'GET', 'closures')).body.closures).toMatchObject([days]);
    const { appointments } = (await ask('desk', 'GET', 'strays')).body;
    expect(appointments.map((one: Json) => one.id)).toEqual([appointmentId]);
    const backwards = { ...days, endsOn: '2026-06-08' };
    expect(await ask('desk', 'POST', 'closures', backwards)).toMatchObject(
      refusal(422, 'CLOSURE.ENDS_BEFORE_START', 'endsOn'),
    );
    const path = `closures/${closed.body.closure.id}`;
    expect((await ask('desk', 'DELETE', path)).status).toBe(204);
    expect(await ask('desk', 'DELETE', path)).toMatchObject(refusal(404, 'CLOSURE.NOT_FOUND'));
  });

  it("opens one's own calendar for whoever is on the staff", async () => {
    expect(await ask('stylist', 'POST', 'calendar')).toMatchObject(refusal(404, 'STAFF.NOT_FOUND'));
    const { account } = (await ask('stylist', 'GET', 'account')).body;
    const linked = { accountId: account.id };
    expect((await ask('owner', 'POST', `staff/${test.mara.id}/change`, linked)).status).toBe(200);
    const opened = await ask('stylist', 'POST', 'calendar');
    expect(opened.status).toBe(201);
    expect((await test.app.inject(opened.body.path)).statusCode).toBe(200);
    expect((await ask('stylist', 'DELETE', 'calendar')).status).toBe(204);
    expect((await test.app.inject(opened.body.path)).statusCode).toBe(404);
  });

  it('takes an arrival back, and draws a formula that nobody recorded', async () => {
    const guest = await ask('desk', 'POST', 'clients', { givenName: 'Sabeth' });
    const clientId = guest.body.client.id;
    const booked = await ask('desk', 'POST', 'appointments', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
      date: '2026-06-01',
      time: '10:00',
    });
    const path = `appointments/${booked.body.appointment.id}/arrival`;
    expect((await ask('desk', 'POST', path)).status).toBe(200);
    expect((await ask('desk', 'DELETE', path)).body.appointment.state).toBe('booked');
    expect((await ask('desk', 'DELETE', path)).status).toBe(409);

    const drawn = await ask('stylist', 'POST', `clients/${clientId}/drawings`, CROP);
    expect(drawn.status).toBe(200);
    expect(drawn.body.pictures.map(({ view }: Json) => view)).toContain('right');
    expect(drawn.body.pictures[0].svg).toMatch(/^<svg /);
    const unnamed = await ask('stylist', 'POST', `clients/${clientId}/drawings`, { ...CROP, name: '' });
    expect(unnamed).toMatchObject(refusal(422, 'INPUT.INVALID', 'name'));
  });

  it('sets the share left without invitations', async () => {
    expect((await ask('owner', 'GET', 'reports/hold-out')).body.holdOut).toBeNull();
    const set = await ask('owner', 'PUT', 'reports/hold-out', { percent: 10 });
    expect(set).toMatchObject({ status: 200, body: { holdOut: { percent: 10 } } });
    expect(await ask('owner', 'PUT', 'reports/hold-out', { percent: 60 })).toMatchObject(
      refusal(422, 'INPUT.INVALID', 'percent'),
    );
    expect((await ask('owner', 'PUT', 'reports/hold-out', { percent: 0 })).status).toBe(200);
  });

  it('adds another salon like this one', async () => {
    const another = {
      name: 'Wren & Tallow West',
      zone: 'Europe/London',
      email: 'west@wren-tallow.example.org',
      phone: '020 7946 0302',
      address: '9 Candle Row, Oxmarsh',
    };
    const { phone: _, ...unreachable } = another;
    expect(await ask('owner', 'POST', 'salons', unreachable)).toMatchObject({ status: 422 });
    const made = await ask('owner', 'POST', 'salons', another);
    expect(made).toMatchObject({ status: 201, body: { salon: { currency: 'GBP', units: 'cm' } } });
    // From here on there are two, and every ask must say which.
    expect(await ask('owner', 'GET', 'closures')).toMatchObject(refusal(409, 'SALON.SEVERAL'));
  });
});
