import { beforeAll, describe, expect, it } from '@jest/globals';
import { type DemoData, demoData } from '../../seed/demo-data.js';
import { demoPeople } from '../../seed/salon.js';
import { dateIn, daysBetween, timeIn, validated, weekdayOf } from '../../src/base/index.js';
import { FormulaInput } from '../../src/cuts/index.js';
import { zoneRate } from '../../src/engine/growth/index.js';
import { colourGate, skinTestState } from '../../src/skin-tests/index.js';

const ZONE = 'Europe/London';
const NOW = Date.parse('2026-06-17T09:40:00Z');
const FEW = 16;
const RULES = { validDays: 180, zone: ZONE };

const hash = (email: string) => `hash of ${email}`;
const groupBy = <T>(values: readonly T[], key: (value: T) => string) => {
  const groups = new Map<string, T[]>();
  for (const value of values) groups.set(key(value), [...(groups.get(key(value)) ?? []), value]);
  return groups;
};

describe('the demo', () => {
  let data: DemoData;
  beforeAll(() => {
    data = demoData(NOW, hash);
  }, 120_000);

  it('is the same for the same moment, and another for another', () => {
    const once = demoData(NOW, hash, FEW).rows;
    expect(demoData(NOW, hash, FEW).rows).toEqual(once);
    expect(demoData(NOW + 86_400_000, hash, FEW).rows.visits).not.toEqual(once.visits);
  });

  it('is a salon of some 300 clients with two years behind it', () => {
    const { rows } = data;
    expect(rows.clients).toHaveLength(300);
    expect(rows.staff.filter(({ cutsHair }) => cutsHair)).toHaveLength(4);
    expect(rows.accounts.map(({ role }) => role).sort()).toEqual([
      'desk',
      'owner',
      'stylist',
      'stylist',
      'stylist',
      'stylist',
    ]);
    const days = rows.visits.map(({ visitOn }) => visitOn).sort();
    expect(daysBetween(days[0]!, '2026-06-17')).toBeGreaterThan(700);
    expect(days.at(-1)! <= '2026-06-17').toBe(true);
    expect(rows.visits.length).toBeGreaterThan(2000);
    expect(rows.visits.length).toBeLessThan(5000);
    for (const visit of rows.visits) expect(visit.closedAt).toBeLessThanOrEqual(NOW);
    const names = new Set(rows.clients.map(({ givenName, familyName }) => `${givenName} ${familyName}`));
    expect(names.size).toBe(300);
  });

  it('calls nobody and writes to nobody who lives', () => {
    // Ofcom, telephone numbers for use in TV and radio drama; NANPA, 555-0100 to 555-0199 for fictional use.
    const fiction = /^(\+442079460\d{3}|\+441632960\d{3}|\+447700900\d{3}|\+1[2-9]\d{2}55501\d{2})$/;
    const example = /^[^@\s]+@([a-z-]+\.)*example\.(org|com|net)$/;
    const { clients, salons, accounts, messages } = data.rows;
    const phones = [...clients, ...salons].flatMap(({ phone }) => phone ?? []);
    expect(phones.length).toBeGreaterThan(270);
    expect(phones.filter((phone) => !fiction.test(phone))).toEqual([]);
    expect(new Set(phones).size).toBe(phones.length);
    const mails = [
      ...[...clients, ...salons, ...accounts].flatMap(({ email }) => email ?? []),
      ...messages.flatMap(({ address }) => address ?? []),
    ];
    expect(mails.filter((mail) => !example.test(mail))).toEqual([]);
  });

  it('never gives one stylist or one client two appointments at a time, nor work off the rota', () => {
    const { appointments, rota, closures } = data.rows;
    const claims = data.rows.claims.filter(({ staffId }) => staffId !== null);
    const overlaps = (stretches: readonly { startsAt: number; endsAt: number }[]) => {
      const sorted = [...stretches].sort((a, b) => a.startsAt - b.startsAt);
      return sorted.filter((stretch, i) => i > 0 && stretch.startsAt < sorted[i - 1]!.endsAt);
    };
    for (const ofStylist of groupBy(claims, ({ staffId }) => staffId ?? '').values()) {
      expect(overlaps(ofStylist)).toEqual([]);
    }
    const kept = appointments.filter(({ state }) => state !== 'cancelled' && state !== 'no-show');
    for (const ofClient of groupBy(kept, ({ clientId }) => clientId).values()) {
      expect(overlaps(ofClient)).toEqual([]);
    }
    expect(claims.map(({ appointmentId }) => appointmentId).sort()).toEqual(kept.map(({ id }) => id).sort());
    const offRota = claims.filter(({ staffId, startsAt, endsAt }) => {
      const date = dateIn(ZONE, startsAt);
      const works = rota.some(
        (entry) =>
          entry.staffId === staffId &&
          entry.weekday === weekdayOf(date) &&
          entry.startsAt <= timeIn(ZONE, startsAt) &&
          timeIn(ZONE, endsAt) <= entry.endsAt,
      );
      const shut = closures.some(
        (closure) =>
          (closure.staffId ?? staffId) === staffId && closure.startsOn <= date && date <= closure.endsOn,
      );
      return !works || shut;
    });
    expect(offRota).toEqual([]);
  });

  it('gives every kept appointment a chair, a colour the basin too, and none of them to two at a time', () => {
    const { claims, resources, appointments, services } = data.rows;
    const kindOf = new Map(resources.map(({ id, kind }) => [id, kind]));
    const colours = new Set(services.filter(({ kind }) => kind === 'colour').map(({ id }) => id));
    const held = groupBy(
      claims.filter(({ resourceId }) => resourceId),
      ({ appointmentId }) => appointmentId,
    );
    for (const { id, state, serviceId } of appointments) {
      const kinds = (held.get(id) ?? []).map(({ resourceId }) => kindOf.get(resourceId ?? '')).sort();
      const wanted = colours.has(serviceId) ? ['chair', 'wash-basin'] : ['chair'];
      expect(kinds).toEqual(state === 'cancelled' || state === 'no-show' ? [] : wanted);
    }
    for (const [, ofOne] of groupBy([...held.values()].flat(), ({ resourceId }) => resourceId ?? '')) {
      const sorted = [...ofOne].sort((a, b) => a.startsAt - b.startsAt);
      expect(sorted.filter(({ startsAt }, i) => i > 0 && startsAt < sorted[i - 1]!.endsAt)).toEqual([]);
    }
  });

  it('keeps a chain of whole formulas, each made from an earlier one or from one of the eight of the house', () => {
    const { visits, formulas, steps, lengths, limits, clients } = data.rows;
    const byId = new Map(formulas.map((formula) => [formula.id, formula]));
    const count = (rows: readonly { formulaId: string }[]) => groupBy(rows, ({ formulaId }) => formulaId);
    const [stepsOf, lengthsOf, limitsOf] = [count(steps), count(lengths), count(limits)];
    expect(formulas.filter(({ clientId }) => clientId === null)).toHaveLength(8);
    const services = new Map(data.rows.services.map(({ id, kind }) => [id, kind]));
    for (const visit of visits) {
      if (services.get(visit.serviceId) === 'other') {
        expect(visit.formulaId).toBeNull();
        continue;
      }
      const formula = byId.get(visit.formulaId ?? '')!;
      expect(formula.cutOn).toBe(visit.visitOn);
      expect(formula.clientId).toBe(visit.clientId);
      const source = byId.get(formula.basedOnId ?? '')!;
      expect([visit.clientId, null]).toContain(source.clientId);
      if (source.cutOn !== null) expect(source.cutOn < visit.visitOn).toBe(true);
      expect(visit.suggestedEarliestOn! <= visit.suggestedDueOn!).toBe(true);
      expect(visit.suggestedDueOn! <= visit.suggestedLatestOn!).toBe(true);
    }
    for (const { id } of formulas) {
      expect(stepsOf.get(id)!.length).toBeGreaterThan(0);
      expect(lengthsOf.get(id)).toHaveLength(7);
      expect(limitsOf.get(id)!.length).toBeGreaterThan(0);
    }
    const cut = new Set(visits.filter(({ formulaId }) => formulaId).map(({ clientId }) => clientId));
    expect(data.rows.windows.map(({ clientId }) => clientId).sort()).toEqual(
      clients
        .map(({ id }) => id)
        .filter((id) => cut.has(id))
        .sort(),
    );
  });

  it('takes hair off and never puts it back', () => {
    const FASTEST_MM_PER_DAY = 0.65;
    const { formulas, lengths } = data.rows;
    const byFormula = groupBy(lengths, ({ formulaId }) => formulaId);
    const byId = new Map(formulas.map((formula) => [formula.id, formula]));
    const added = formulas.flatMap((formula) => {
      const before = byId.get(formula.basedOnId ?? '');
      if (!before?.cutOn) return [];
      return byFormula.get(formula.id)!.filter(({ zone, leftMm, leftOn }) => {
        const earlier = byFormula.get(before.id)!.find((length) => length.zone === zone)!;
        const grown = FASTEST_MM_PER_DAY * daysBetween(earlier.leftOn, leftOn);
        return leftMm > earlier.leftMm + grown + 3 * earlier.leftSdMm;
      });
    });
    // A slip of the measuring hand on a zone that nobody cut stands as measured until it is cut.
    expect(added.length).toBeLessThan(10);
  });

  it('accepts its house formulas as a stylist would have to type them', async () => {
    const { formulas, steps, lengths, links, limits } = data.rows;
    const of = <T extends { id: string; formulaId: string }>(rows: readonly T[], formulaId: string) =>
      rows.filter((row) => row.formulaId === formulaId).map(({ id: _, formulaId: __, ...row }) => row);
    for (const house of formulas.filter(({ clientId }) => clientId === null)) {
      const input = {
        name: house.name,
        notes: house.notes,
        steps: of(steps, house.id).map(({ position: _, ...step }) => step),
        lengths: of(lengths, house.id).map(({ leftOn: _, ...length }) => length),
        links: of(links, house.id),
        limits: of(limits, house.id),
      };
      await expect(validated(FormulaInput, input)).resolves.toMatchObject({ name: house.name });
    }
  });

  it('colours nobody without a valid skin test at booking, and shows every state of a test', () => {
    const { appointments, services, skinTests, clients } = data.rows;
    const colour = services.find(({ kind }) => kind === 'colour')!.id;
    const testsOf = groupBy(skinTests, ({ clientId }) => clientId);
    const booked = appointments.filter(({ serviceId }) => serviceId === colour);
    expect(booked.length).toBeGreaterThan(50);
    for (const { clientId, startsAt, bookedAt } of booked) {
      const known = (testsOf.get(clientId) ?? []).map((test) =>
        test.readAt !== null && test.readAt <= bookedAt
          ? test
          : { ...test, readAt: null, readingRecordedAt: null, result: null },
      );
      const answer = colourGate({
        tests: known,
        birthday: clients.find(({ id }) => id === clientId)!.birthday,
        at: startsAt,
        now: bookedAt,
        rules: RULES,
        medicalClearances: [],
        irritatedScalp: false,
        blackHennaReaction: null,
        colourReaction: null,
      });
      expect(answer).toMatchObject({ allowed: true });
    }
    const states = new Set(skinTests.map((test) => skinTestState(test, RULES, NOW)));
    expect([...states]).toEqual(expect.arrayContaining(['applied', 'clear', 'reacted', 'lapsed']));
  });

  it('teaches growth that is nearer to the true rates than what was assumed, as sure as it says', () => {
    const prior: number[] = [];
    const learned: number[] = [];
    let covered = 0;
    for (const { clientId, profile } of data.rows.growth) {
      for (const [zone, trueRate] of data.trueRates.get(clientId)!) {
        if (profile.measurements[zone] === 0) continue;
        const { meanMmPerDay, sdMmPerDay } = zoneRate(profile, zone);
        prior.push(Math.abs(profile.prior.meanMmPerDay - trueRate));
        learned.push(Math.abs(meanMmPerDay - trueRate));
        if (learned.at(-1)! < 1.6449 * sdMmPerDay) covered += 1;
      }
    }
    const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
    expect(learned.length).toBeGreaterThan(1000);
    // Mean absolute deviation of the assumed spread: sqrt(2/pi) * hypot(0.06, 0.028) = 0.0528.
    expect(mean(prior)).toBeGreaterThan(0.048);
    expect(mean(prior)).toBeLessThan(0.058);
    expect(mean(learned)).toBeLessThan(0.7 * mean(prior));
    expect(covered / learned.length).toBeGreaterThan(0.86);
    expect(covered / learned.length).toBeLessThan(0.95);
  });

  it('has people who come in time, late and never again', () => {
    const cuts = data.rows.visits.filter(({ formulaId }) => formulaId !== null);
    let inTime = 0;
    let late = 0;
    for (const visits of groupBy(cuts, ({ clientId }) => clientId).values()) {
      for (const [i, visit] of visits.entries()) {
        const before = visits[i - 1];
        if (!before) continue;
        if (visit.visitOn > before.suggestedLatestOn!) late += 1;
        else if (visit.visitOn >= before.suggestedEarliestOn!) inTime += 1;
      }
    }
    expect(inTime).toBeGreaterThan(800);
    expect(late).toBeGreaterThan(300);
    const ahead = new Set(
      data.rows.appointments.filter(({ startsAt }) => startsAt > NOW).map(({ clientId }) => clientId),
    );
    const lost = data.rows.windows.filter(
      ({ clientId, latestOn }) => latestOn < '2026-03-01' && !ahead.has(clientId),
    );
    expect(lost.length).toBeGreaterThan(20);
  });

  // A Monday to a Sunday, the nights on which London's clocks change, midnight, and a holiday.
  it.each([
    '2026-06-15T06:00:00Z',
    '2026-06-16T12:00:00Z',
    '2026-06-17T20:30:00Z',
    '2026-06-18T09:40:00Z',
    '2026-06-19T23:30:00Z',
    '2026-06-20T15:00:00Z',
    '2026-06-21T10:00:00Z',
    '2026-03-29T01:30:00Z',
    '2026-10-25T01:15:00Z',
    '2026-12-25T00:00:00Z',
  ])('tells its four stories today when started at %s', (instant) => {
    const now = Date.parse(instant);
    const { rows, stories } = demoData(now, hash, FEW);
    const today = dateIn(ZONE, now);
    expect(stories.map(({ key }) => key)).toEqual([
      'stacked-bob',
      'long-backed-crop',
      'growing-out',
      'lapsed-skin-test',
    ]);
    for (const { clientId, today: seat } of stories) {
      const todays = rows.appointments.filter(
        (appointment) => appointment.clientId === clientId && dateIn(ZONE, appointment.startsAt) === today,
      );
      expect(todays).toMatchObject([{ state: 'booked', staffId: seat.staffId, startsAt: seat.startsAt }]);
    }
    expect(new Set(stories.map(({ today: { staffId } }) => staffId)).size).toBe(1);
    const [first] = demoPeople(weekdayOf(today));
    expect(rows.staff.find(({ name }) => name === first?.name)?.id).toBe(stories[0]?.today.staffId);
    const working = rows.rota.filter(({ weekday }) => weekday === weekdayOf(today));
    expect(new Set(working.map(({ staffId }) => staffId)).size).toBeGreaterThanOrEqual(2);
    for (const { bookedAt, state, endsAt } of rows.appointments) {
      expect(bookedAt).toBeLessThanOrEqual(now);
      if (state === 'done') expect(endsAt).toBeLessThanOrEqual(now);
    }
    for (const { dueAt, state, sentAt } of rows.messages) {
      if (state === 'owed') expect(dueAt).toBeGreaterThan(now);
      if (state === 'sent') expect(sentAt).toBeLessThanOrEqual(now);
    }
  });

  it('tells each story in the records', () => {
    const { formulas, steps, lengths, links, skinTests } = data.rows;
    const standing = (key: string) => {
      const { clientId } = data.stories.find((story) => story.key === key)!;
      const formula = formulas.filter((candidate) => candidate.clientId === clientId).at(-1)!;
      const own = <T extends { formulaId: string }>(rows: readonly T[]) =>
        rows.filter(({ formulaId }) => formulaId === formula.id);
      const length = (zone: string) => own(lengths).find((candidate) => candidate.zone === zone)!;
      return { clientId, formula, own, length };
    };
    const bob = standing('stacked-bob');
    expect(bob.own(steps).find(({ zone }) => zone === 'nape')).toMatchObject({ method: 'clipper-guard' });
    expect(bob.own(links)).toContainEqual(
      expect.objectContaining({ zone: 'nape', neighbour: 'back', kind: 'disconnected' }),
    );
    const crop = standing('long-backed-crop');
    expect(crop.length('nape').leftMm).toBeGreaterThan(1.5 * crop.length('left-side').leftMm);
    const growing = standing('growing-out');
    for (const zone of ['fringe', 'top', 'crown', 'left-side', 'right-side', 'back']) {
      expect(growing.length(zone).wantedMm).toBeGreaterThan(growing.length(zone).leftMm);
      expect(growing.own(steps).filter((step) => step.zone === zone && !step.leftToGrow)).toEqual([]);
    }
    const { clientId } = standing('lapsed-skin-test');
    const states = skinTests
      .filter((test) => test.clientId === clientId)
      .map((test) => skinTestState(test, RULES, NOW));
    expect(states).toEqual(['lapsed']);
  });
});
