import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Visit } from '../../src/cuts/index.js';
import { declaredRoutes } from '../../src/http/routes.js';
import { Account, ROLES, type Role } from '../../src/identity/index.js';
import {
  CUTS_BY,
  DemandForecast,
  FIGURE_PARTS,
  type Figure,
  type FigurePart,
  Forecasts,
  NudgeHoldOut,
  UNCUT_PARTS,
} from '../../src/reports/index.js';
import { Staff } from '../../src/salon/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { plantHistory } from '../factories/reports.js';
import { Jar, openSession } from '../factories/security.js';

const TODAY = '2026-06-01';

describe('who sees which figures', () => {
  let test: TestApp;
  const jars = {} as Record<Role, Jar>;

  beforeAll(async () => {
    test = await startTestApp(`${TODAY}T08:00:00Z`);
    await plantHistory(test, test, 5, {
      clients: 30,
      mostVisits: 9,
      firstDay: '2025-08-01',
      today: TODAY,
      apart: 45,
    });
    const accountOf = async (role: Role) => (await test.reader.manager.findOneByOrFail(Account, { role })).id;
    const stylist = await accountOf('stylist');
    await test.units.run((manager) => manager.update(Staff, { id: test.mara.id }, { accountId: stylist }));
    for (const role of ['stylist', 'desk', 'owner'] as const) {
      jars[role] = new Jar(test.app);
      jars[role].set('halfinch', await openSession(test.app, role));
    }
    await test.app.get(Forecasts, { strict: false }).keepUp(test.salon);
  });
  afterAll(() => test.close());

  const figures = async (role: Role, path: string): Promise<Figure[]> => {
    const answer = await test.ask(role, 'GET', `/api/v1/reports/${path}`);
    expect(answer.status).toBe(200);
    return answer.body['figures'] as Figure[];
  };
  const rowsOf = (all: readonly Figure[], key: string) =>
    all.find((figure) => figure.key === key)?.rows ?? [];
  const sum = (visits: readonly Visit[]) => visits.reduce((total, { priceMinor }) => total + priceMinor, 0);

  it('shows the owner everything, on pages that need no script and hold no style of their own', async () => {
    for (const part of FIGURE_PARTS) {
      const page = await jars.owner.ask('GET', `/figures/${part}`);
      expect(page.statusCode).toBe(200);
      expect(page.body).toContain('<table>');
      expect(page.body).not.toMatch(
        /<style|style="|<script(?! type="module" src="\/assets\/every-form\.js">)/,
      );
      // Every drawing says what it is and has its table beside it.
      const drawings = page.body.match(/<svg[^>]*class="chart"[^>]*>/g) ?? [];
      expect(drawings.length > 0 || part === 'use' || part === 'value').toBe(true);
      for (const drawing of drawings) expect(drawing).toMatch(/role="img"/);
      for (const drawing of drawings) expect(drawing).toMatch(/aria-label="[^"]+"/);
    }
    const all = await test.reader.manager.find(Visit);
    const value = await figures('owner', 'value?since=2025-07-01&by=stylist');
    expect(rowsOf(value, 'value')[0]?.cells['total']).toBe(sum(all));
    expect(rowsOf(value, 'value')).toHaveLength(3);
  });

  it('shows a stylist her own visits and no other’s money', async () => {
    const own = await test.reader.manager.findBy(Visit, { staffId: test.mara.id });
    for (const by of ['stylist', 'salon', 'month', 'service', 'shape', 'first-time']) {
      const [value] = await figures('stylist', `value?since=2025-07-01&by=${by}`);
      const [all, ...groups] = value?.rows ?? [];
      expect(all?.cells).toMatchObject({ visits: own.length, total: sum(own) });
      expect(groups.reduce((total, { cells }) => total + Number(cells['total']), 0)).toBe(sum(own));
    }
    for (const part of FIGURE_PARTS.filter((name) => name !== 'outlook')) {
      const page = await jars.stylist.ask('GET', `/figures/${part}?days=1100`);
      expect(page.statusCode).toBe(200);
      expect(page.body).toContain('Only visits of Mara Quillfeather');
      expect(page.body).not.toContain('Ilan Drosser');
    }
    const [rebooked] = await figures('stylist', 'coming-back?since=2025-07-01');
    expect(rebooked?.rows[0]?.cells['of']).toBe(own.length);
    expect((await jars.stylist.ask('GET', '/figures/outlook')).statusCode).toBe(404);
    expect((await test.ask('stylist', 'GET', '/api/v1/reports/outlook')).status).toBe(404);
    expect((await test.ask('stylist', 'GET', '/api/v1/reports/rebooking-rate')).status).toBe(403);
  });

  it('shows the desk what is coming and none of the money', async () => {
    for (const part of FIGURE_PARTS) {
      const isOutlook = part === 'outlook';
      expect((await test.ask('desk', 'GET', `/api/v1/reports/${part}`)).status).toBe(isOutlook ? 200 : 404);
      expect((await jars.desk.ask('GET', `/figures/${part}`)).statusCode).toBe(isOutlook ? 200 : 404);
    }
    expect((await jars.desk.ask('GET', '/figures/value/value.csv')).statusCode).toBe(404);
    const seen = await figures('desk', 'outlook');
    expect(seen.flatMap(({ columns }) => columns).filter(({ kind }) => kind === 'money')).toEqual([]);
    const page = await jars.desk.ask('GET', '/figures');
    expect(page.body).toContain('The coming twelve weeks');
    expect(page.body).not.toMatch(/[£$€]/);
  });

  it('tells a stylist whose account is nobody’s why there is nothing', async () => {
    const mara = { id: test.mara.id };
    const { accountId } = await test.reader.manager.findOneByOrFail(Staff, mara);
    await test.units.run((manager) => manager.update(Staff, mara, { accountId: null }));
    const page = await jars.stylist.ask('GET', '/figures');
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('not one of the salon’s stylists');
    expect((await test.ask('stylist', 'GET', '/api/v1/reports/value')).status).toBe(404);
    await test.units.run((manager) => manager.update(Staff, mara, { accountId }));
  });

  it('writes each table as CSV: quoted, with formulas defused', async () => {
    const ilan = { id: test.ilan.id };
    await test.units.run((manager) => manager.update(Staff, ilan, { name: '=Drosser, "I"' }));
    const file = await jars.owner.ask('GET', '/figures/value/value.csv?by=stylist&days=1100');
    expect(file.headers['content-type']).toContain('text/csv');
    expect(file.headers['content-disposition']).toBe(`attachment; filename="value-${TODAY}.csv"`);
    const [head, ...lines] = file.body.split('\r\n');
    expect(head).toBe('\ufeffStylist,Visits,Together (GBP),Per visit (GBP),Per hour in the chair (GBP)');
    const own = await test.reader.manager.findBy(Visit, { staffId: ilan.id });
    // RFC 4180: a field with a comma or a quote stands in quotes, quotes in it are doubled.
    const line = lines.find((candidate) => candidate.includes('Drosser'));
    expect(line?.startsWith(`"'=Drosser, ""I""",${own.length},${(sum(own) / 100).toFixed(2)},`)).toBe(true);
    await test.units.run((manager) => manager.update(Staff, ilan, { name: 'Ilan Drosser' }));
    expect((await jars.owner.ask('GET', '/figures/value/other.csv')).statusCode).toBe(404);
    for (const part of FIGURE_PARTS) {
      for (const { key, columns } of await figures('owner', part)) {
        const table = await jars.owner.ask('GET', `/figures/${part}/${key}.csv`);
        expect(table.statusCode).toBe(200);
        expect(table.body.split('\r\n')[0]?.split(',')).toHaveLength(columns.length);
      }
    }
  });

  it('answers odd questions without failing', async () => {
    for (const query of ['by=hair', 'since=yesterday', 'since=2026-02-30']) {
      const answer = await test.ask('owner', 'GET', `/api/v1/reports/attendance?${query}`);
      expect(answer).toMatchObject({
        status: 422,
        body: { code: 'INPUT.INVALID', fields: [{ field: query.split('=')[0] }] },
      });
    }
    for (const part of FIGURE_PARTS) {
      for (const since of ['0001-01-01', '9999-12-31']) {
        expect(
          (await test.ask('owner', 'GET', `/api/v1/reports/${part}?by=month&since=${since}`)).status,
        ).toBe(200);
      }
      expect((await jars.owner.ask('GET', `/figures/${part}?by=x&days=-5&days=7`)).statusCode).toBe(200);
    }
    expect((await jars.owner.ask('GET', '/figures/nothing')).statusCode).toBe(404);
  });

  it('lets the owner leave a share of clients without nudges, and says then that it is an experiment', async () => {
    expect((await jars.owner.ask('GET', '/figures/attendance')).body).toContain('No experiment');
    expect((await jars.owner.post('/figures/hold-out', { percent: '70' })).statusCode).toBe(422);
    expect((await jars.owner.post('/figures/hold-out', {})).statusCode).toBe(422);
    expect((await jars.stylist.post('/figures/hold-out', { percent: '10' })).statusCode).toBe(403);
    expect(await test.reader.manager.count(NudgeHoldOut)).toBe(0);
    expect((await jars.owner.post('/figures/hold-out', { percent: '20' })).statusCode).toBe(303);
    expect(await test.reader.manager.findOneByOrFail(NudgeHoldOut, {})).toMatchObject({
      percent: 20,
      since: test.clock.now(),
    });
    expect((await jars.owner.ask('GET', '/figures/attendance')).body).toContain(
      'An experiment: 20 % of clients',
    );
    expect((await jars.owner.post('/figures/hold-out', { percent: '0' })).statusCode).toBe(303);
    expect((await jars.owner.ask('GET', '/figures/attendance')).body).toContain('No experiment');
  });

  it('makes a forecast when asked to and never by a look, and keeps one however many ask at once', async () => {
    await test.units.run((manager) => manager.clear(DemandForecast));
    const looks = await Promise.all([1, 2, 3].map(() => test.ask('desk', 'GET', '/api/v1/reports/outlook')));
    expect(looks.map(({ status }) => status)).toEqual([200, 200, 200]);
    const page = await jars.owner.ask('GET', '/figures/outlook');
    expect(page.body).toContain('Make the forecast now');
    expect((await jars.desk.ask('GET', '/figures/outlook')).body).not.toContain('Make the forecast now');
    expect(await test.reader.manager.count(DemandForecast)).toBe(0);

    const asked = await Promise.all([
      ...[1, 2].map(async () => (await test.ask('owner', 'POST', '/api/v1/reports/forecast')).status),
      jars.owner.post('/figures/forecast', {}).then(({ statusCode }) => statusCode),
    ]);
    expect(asked).toEqual([200, 200, 303]);
    const rows = await test.reader.manager.find(DemandForecast);
    const named = new Set(rows.map(({ madeOn, weekStartsOn }) => `${madeOn} ${weekStartsOn}`));
    expect(rows).toHaveLength(named.size);
    expect(rows.length).toBeGreaterThanOrEqual(12);
    expect((await test.ask('owner', 'POST', '/api/v1/reports/forecast')).body).toEqual({ made: false });
    expect(rowsOf(await figures('desk', 'outlook'), 'outlook')).toHaveLength(12);
    expect((await jars.owner.ask('GET', '/figures/outlook')).body).not.toContain('Make the forecast now');
  });

  /** Who gets what, written down a second time: a part, a table of it or a route that is given by a slip fails here. */
  const SEES: Readonly<Record<Role, readonly FigurePart[]>> = {
    owner: ['coming-back', 'windows', 'cohorts', 'attendance', 'use', 'value', 'outlook'],
    stylist: ['coming-back', 'windows', 'cohorts', 'attendance', 'use', 'value'],
    desk: ['outlook'],
  };
  const MONEY = /[£$€]|GBP|priceMinor/;

  it('knows every route that shows figures', () => {
    const shown = declaredRoutes(test.app)
      .filter(({ path }) => /^\/(figures|api\/v1\/reports)(\/|$)/.test(path))
      .map(({ method, path, need }) => `${method} ${path} ${need}`);
    expect(shown.sort()).toEqual([
      'GET /api/v1/reports/:part report.open',
      'GET /api/v1/reports/hold-out report.read',
      'GET /api/v1/reports/rebooking-rate report.read',
      'GET /figures report.open',
      'GET /figures/:part report.open',
      'GET /figures/:part/:file report.open',
      'POST /api/v1/reports/forecast report.write',
      'POST /figures/forecast report.write',
      'POST /figures/hold-out report.write',
      'PUT /api/v1/reports/hold-out report.write',
    ]);
  });

  it.each(ROLES.flatMap((role) => FIGURE_PARTS.map((part) => [role, part] as const)))(
    'lets the %s see %s on the page, in the API and as CSV, or in none of them',
    async (role, part) => {
      const status = SEES[role].includes(part) ? 200 : 404;
      const keys = (await figures('owner', part)).map(({ key }) => key);
      expect(keys.length).toBeGreaterThan(0);
      const answers = [
        await jars[role].ask('GET', `/figures/${part}`),
        ...(await Promise.all(keys.map((key) => jars[role].ask('GET', `/figures/${part}/${key}.csv`)))),
      ];
      const api = await test.ask(role, 'GET', `/api/v1/reports/${part}`);
      expect([api.status, ...answers.map(({ statusCode }) => statusCode)]).toEqual(
        new Array(keys.length + 2).fill(status),
      );
      if (role === 'desk') {
        for (const text of [JSON.stringify(api.body), ...answers.map(({ body }) => body)]) {
          expect(text).not.toMatch(MONEY);
        }
      } else if (part === 'value') {
        // The same words do turn up where money is shown.
        expect(answers[0]?.body).toMatch(MONEY);
      }
    },
  );

  it('shows a stylist nothing that another’s prices could change', async () => {
    const seen = async (role: Role) => {
      const answers: string[] = [];
      for (const part of SEES.stylist) {
        for (const by of CUTS_BY) {
          answers.push(JSON.stringify(await figures(role, `${part}?by=${by}&since=2025-07-01`)));
          if (UNCUT_PARTS.includes(part)) break;
        }
      }
      return answers;
    };
    const [own, all] = [await seen('stylist'), await seen('owner')];
    await test.units.run((manager) =>
      manager.increment(Visit, { staffId: test.ilan.id }, 'priceMinor', 77_700),
    );
    expect(await seen('stylist')).toEqual(own);
    expect(await seen('owner')).not.toEqual(all);
    await test.units.run((manager) =>
      manager.decrement(Visit, { staffId: test.ilan.id }, 'priceMinor', 77_700),
    );
  });
});
