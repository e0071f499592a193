import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Account, AuditEntry, SYSTEM } from '../../../src/identity/index.js';
import { newId } from '../../../src/store/index.js';
import { queriesOf } from '../../factories/query-plans.js';
import { makeSalon, openTestStore, SALON_INPUT, type TestStore } from '../../factories/salon.js';

let store: TestStore;
beforeEach(async () => {
  store = await openTestStore();
});
afterEach(() => store.close());

const fieldsOf = (code: string, ...fields: string[]) => ({
  code,
  fields: fields.map((field) => expect.objectContaining({ field })),
});

describe('a salon', () => {
  it('is added with its phone in E.164, and reads back as the only one', async () => {
    const { id } = await store.salons.add(SALON_INPUT, SYSTEM);
    const salon = await store.salons.only();
    expect(salon).toMatchObject({
      id,
      zone: 'Europe/London',
      // ITU-T E.164: + country code, national number without the trunk 0.
      phone: '+442079460301',
      reminderHours: 48,
      skinTestValidDays: 180,
      version: 1,
    });
  });

  it.each([
    ['zone', 'Europe/Oxmarsh'],
    ['zone', 42],
    ['units', 'ft'],
    ['currency', 'ZZZ'],
    ['locale', 'not a language'],
    ['phoneRegion', 'ZZ'],
    ['phone', '12'],
    ['email', 'nobody'],
    ['name', '   '],
    ['address', ''],
    ['reminderHours', 0],
    ['reminderHours', Number.NaN],
    ['skinTestValidDays', 1],
    ['skinTestValidDays', 30.5],
    ['owner', 'somebody'],
  ])('is refused with a bad %s (%p), naming it, and nothing is stored', async (field, value) => {
    await expect(store.salons.add({ ...SALON_INPUT, [field]: value }, SYSTEM)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    await expect(store.salons.only()).rejects.toMatchObject({ code: 'SALON.NOT_FOUND' });
  });

  it.each([null, 'text', [], 7])('is not changed by %p', async (input) => {
    const { id } = await store.salons.add(SALON_INPUT, SYSTEM);
    await expect(store.salons.change(id, input, SYSTEM)).rejects.toMatchObject({ code: 'INPUT.INVALID' });
  });

  it('changes the fields that are given and keeps the rest, once per version', async () => {
    const { id, version } = await store.salons.add(SALON_INPUT, SYSTEM);
    await store.salons.change(id, { reminderHours: '24', expectedVersion: version }, SYSTEM);
    expect(await store.salons.get(id)).toMatchObject({ reminderHours: 24, name: SALON_INPUT.name });
    await expect(
      store.salons.change(id, { name: 'Later', expectedVersion: version }, SYSTEM),
    ).rejects.toMatchObject({ kind: 'conflict', code: 'SALON.STALE' });
    expect((await store.salons.get(id)).name).toBe(SALON_INPUT.name);
  });

  it('must be named when there are several', async () => {
    await store.salons.add(SALON_INPUT, SYSTEM);
    await store.salons.add({ ...SALON_INPUT, name: 'Second' }, SYSTEM);
    await expect(store.salons.only()).rejects.toMatchObject({ code: 'SALON.SEVERAL' });
  });

  it('replaces its opening hours as a whole or not at all', async () => {
    const { id } = await store.salons.add(SALON_INPUT, SYSTEM);
    const tuesday = { weekday: 2, opensAt: '10:00', closesAt: '19:00' };
    await store.salons.setHours(
      id,
      { entries: [{ weekday: 1, opensAt: '09:00', closesAt: '17:00' }] },
      SYSTEM,
    );
    await store.salons.setHours(id, { entries: [tuesday] }, SYSTEM);
    const closesFirst = { entries: [{ weekday: 3, opensAt: '19:00', closesAt: '10:00' }] };
    await expect(store.salons.setHours(id, closesFirst, SYSTEM)).rejects.toMatchObject(
      fieldsOf('SALON.HOURS_INVALID', 'entries.0.closesAt'),
    );
    expect(await store.salons.hours(id)).toEqual([expect.objectContaining(tuesday)]);
  });
});

describe('staff', () => {
  it('are linked to one account each', async () => {
    const { salon, mara, ilan } = await makeSalon(store);
    const accountId = newId();
    await store.units.run((manager) =>
      manager.insert(Account, {
        id: accountId,
        version: 1,
        email: 'mara@example.org',
        name: 'Mara',
        role: 'stylist',
        passwordHash: 'none',
        active: true,
      }),
    );
    await store.salons.changeStaff(mara.id, { accountId }, SYSTEM);
    expect(await store.salons.staffOf(accountId)).toMatchObject({ id: mara.id });
    await expect(store.salons.changeStaff(ilan.id, { accountId }, SYSTEM)).rejects.toMatchObject({
      kind: 'conflict',
      ...fieldsOf('STAFF.ACCOUNT_TAKEN', 'accountId'),
    });
    await expect(
      store.salons.addStaff(salon.id, { name: 'Una', accountId: newId() }, SYSTEM),
    ).rejects.toMatchObject(fieldsOf('STAFF.NO_SUCH_ACCOUNT', 'accountId'));
    await store.salons.changeStaff(mara.id, { accountId: '' }, SYSTEM);
    expect(await store.salons.staffOf(accountId)).toBeNull();
  });

  it('who left are listed last', async () => {
    const { salon, ilan } = await makeSalon(store);
    await store.salons.changeStaff(ilan.id, { active: false }, SYSTEM);
    const names = (await store.salons.staff(salon.id)).map((staff) => staff.name);
    expect(names).toEqual(['Mara Quillfeather', 'Petra Hobb', 'Ilan Drosser']);
  });

  it.each([
    ['fingerWidthMm', 7],
    ['fingerWidthMm', Number.POSITIVE_INFINITY],
    ['cutsHair', 'perhaps'],
    ['name', ''],
  ])('are refused with a bad %s (%p)', async (field, value) => {
    const { mara } = await makeSalon(store);
    await expect(store.salons.changeStaff(mara.id, { [field]: value }, SYSTEM)).rejects.toMatchObject(
      fieldsOf('INPUT.INVALID', field),
    );
  });
});

describe('who and what there is in a salon', () => {
  it('is asked of the database once while nothing is changed, and each time otherwise', async () => {
    const { salon, mara } = await makeSalon(store);
    const ask = async () => {
      for (const staff of [await store.salons.staff(salon.id), await store.salons.staff(salon.id)]) {
        expect(staff).toContainEqual(expect.objectContaining({ id: mara.id }));
      }
      await store.salons.services(salon.id);
      await store.salons.services(salon.id);
      await store.salons.staffOf(newId());
    };
    const asked = async (work: () => Promise<unknown>) =>
      (await queriesOf([store.reader.manager.connection], work)).length;
    expect(await asked(ask)).toBe(5);
    expect(await asked(() => store.salons.askingOnce(ask))).toBe(3);
    // What one request was told is not told to the next.
    await store.salons.changeStaff(mara.id, { name: 'Mara Quill-Tarn' }, SYSTEM);
    const names = (await store.salons.askingOnce(() => store.salons.staff(salon.id))).map(({ name }) => name);
    expect(names).toContain('Mara Quill-Tarn');
  });
});

describe('services', () => {
  it('name zones when they are tidies and only then', async () => {
    const { salon, tidy, fullCut } = await makeSalon(store);
    expect((await store.salons.services(salon.id)).find(({ id }) => id === tidy.id)?.zones).toEqual([
      'nape',
      'left-side',
      'right-side',
    ]);
    await expect(store.salons.changeService(tidy.id, { zones: [] }, SYSTEM)).rejects.toMatchObject(
      fieldsOf('SERVICE.ZONES_MISSING', 'zones'),
    );
    await expect(store.salons.changeService(fullCut.id, { zones: ['nape'] }, SYSTEM)).rejects.toMatchObject(
      fieldsOf('SERVICE.ZONES_NOT_MEANT', 'zones'),
    );
  });

  it.each([
    ['minutes', 0],
    ['minutes', 601],
    ['minutes', 'an hour'],
    ['priceMinor', -1],
    ['priceMinor', 12.5],
    ['kind', 'shave'],
    ['zones', ['chin']],
  ])('are refused with a bad %s (%p)', async (field, value) => {
    const { tidy } = await makeSalon(store);
    await expect(store.salons.changeService(tidy.id, { [field]: value }, SYSTEM)).rejects.toMatchObject(
      fieldsOf('INPUT.INVALID', field),
    );
  });
});

describe('a rota', () => {
  it('is replaced as a week', async () => {
    const { mara } = await makeSalon(store);
    const entry = { weekday: 5, startsAt: '12:00', endsAt: '20:00' };
    await store.salons.setRota(mara.id, { entries: [entry] }, SYSTEM);
    expect(await store.salons.rota(mara.id)).toEqual([expect.objectContaining(entry)]);
    await store.salons.setRota(mara.id, { entries: [] }, SYSTEM);
    expect(await store.salons.rota(mara.id)).toEqual([]);
  });

  it.each([
    ['ends before it starts', [['09:00', '08:00']], 'entries.0.endsAt'],
    ['ends as it starts', [['09:00', '09:00']], 'entries.0.endsAt'],
    [
      'has overlapping stretches',
      [
        ['09:00', '12:00'],
        ['11:59', '14:00'],
      ],
      'entries.1',
    ],
    [
      'has a stretch inside another',
      [
        ['10:00', '11:00'],
        ['09:00', '12:00'],
      ],
      'entries.0',
    ],
    [
      'has the same stretch twice',
      [
        ['09:00', '12:00'],
        ['09:00', '12:00'],
      ],
      'entries.1',
    ],
  ])('that %s is refused, and the old one stays', async (_, times, field) => {
    const { mara } = await makeSalon(store);
    const before = await store.salons.rota(mara.id);
    const entries = times.map(([startsAt, endsAt]) => ({ weekday: 1, startsAt, endsAt }));
    await expect(store.salons.setRota(mara.id, { entries }, SYSTEM)).rejects.toMatchObject(
      fieldsOf('ROTA.INVALID', field),
    );
    expect(await store.salons.rota(mara.id)).toEqual(before);
  });

  it('names the bad time', async () => {
    const { mara } = await makeSalon(store);
    const entries = [{ weekday: 8, startsAt: '9', endsAt: '24:00' }];
    await expect(store.salons.setRota(mara.id, { entries }, SYSTEM)).rejects.toMatchObject(
      fieldsOf('INPUT.INVALID', 'entries.0.weekday', 'entries.0.startsAt', 'entries.0.endsAt'),
    );
  });
});

describe('closures', () => {
  it('are found on every day they touch, and removed', async () => {
    const { salon, mara } = await makeSalon(store);
    const closure = await store.salons.addClosure(
      salon.id,
      { staffId: mara.id, startsOn: '2026-07-06', endsOn: '2026-07-10', reason: 'Holiday' },
      SYSTEM,
    );
    const count = async (from: string, to: string) =>
      (await store.salons.closures(salon.id, from, to)).length;
    expect(await count('2026-07-01', '2026-07-05')).toBe(0);
    expect(await count('2026-07-01', '2026-07-06')).toBe(1);
    expect(await count('2026-07-08', '2026-07-08')).toBe(1);
    expect(await count('2026-07-10', '2026-07-31')).toBe(1);
    expect(await count('2026-07-11', '2026-07-31')).toBe(0);
    await store.salons.removeClosure(closure.id, SYSTEM);
    expect(await count('2026-07-08', '2026-07-08')).toBe(0);
    await expect(store.salons.removeClosure(closure.id, SYSTEM)).rejects.toMatchObject({
      code: 'CLOSURE.NOT_FOUND',
    });
  });

  it.each([
    ['CLOSURE.ENDS_BEFORE_START', 'endsOn', { endsOn: '2026-07-05' }],
    ['INPUT.INVALID', 'startsOn', { startsOn: '2026-02-30' }],
    ['INPUT.INVALID', 'reason', { reason: '' }],
    ['CLOSURE.NO_SUCH_STAFF', 'staffId', { staffId: 'nobody' }],
  ])('are refused with %s for %s', async (code, field, change) => {
    const { salon } = await makeSalon(store);
    const input = { startsOn: '2026-07-06', endsOn: '2026-07-10', reason: 'Holiday', ...change };
    await expect(store.salons.addClosure(salon.id, input, SYSTEM)).rejects.toMatchObject(
      fieldsOf(code, field),
    );
    expect(await store.salons.closures(salon.id, '2026-01-01', '2026-12-31')).toEqual([]);
  });
});

it('every write leaves its trace', async () => {
  await makeSalon(store);
  const entries = await store.reader.manager.find(AuditEntry, { order: { id: 'ASC' } });
  expect(entries.map((entry) => entry.action)).toEqual([
    'salon.add',
    'staff.add',
    'staff.add',
    'staff.add',
    'staff.rota',
    'staff.rota',
    'service.add',
    'service.add',
    'service.add',
  ]);
});
