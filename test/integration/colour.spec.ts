import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { percentOfVolumes, volumesOfPercent } from '../../src/colour/index.js';
import { Visit } from '../../src/cuts/index.js';
import { AuditEntry } from '../../src/identity/index.js';
import { Service } from '../../src/salon/index.js';
import { SafetyNote } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { at, BOWL, type ColourRoom, openColourRoom } from '../factories/colour.js';

const NOBODY = '01890000-0000-7000-8000-000000000000';
const OTHER = 'Umberline Oil 6';
const DAY = 86_400_000;

describe('colour formulas', () => {
  let store: ColourRoom['store'];
  let salon: ColourRoom['salon'];
  let clientId: ColourRoom['clientId'];
  let colours: ColourRoom['colours'];
  let tested: ColourRoom['tested'];
  let close: ColourRoom['close'];
  let record: ColourRoom['record'];
  let nothingRecorded: ColourRoom['nothingRecorded'];

  beforeEach(async () => {
    ({ store, salon, clientId, colours, tested, close, record, nothingRecorded } = await openColourRoom());
  });
  afterEach(() => store.close());

  it('keeps every field, the lines in the order they were mixed', async () => {
    await tested();
    const visit = await close();
    store.clock.at += DAY;
    const { formula } = await record(visit);
    const [stored] = await colours.ofClient(clientId);
    const { developerVolumes, lines, ...rest } = BOWL;
    expect(stored).toMatchObject({
      formula: { ...rest, id: formula.id, visitId: visit.id, colouredOn: '2026-06-01', developerPercent: 6 },
      lines: lines.map((line, i) => ({ ...line, position: i + 1 })),
      developerVolumes: 20,
    });
    const entries = await store.reader.manager.find(AuditEntry, { where: { subjectId: clientId } });
    expect(entries.map(({ action }) => action)).toContain('colour.record');
  });

  it.each([
    // Commission Regulation (EU) 2019/831, Annex III entry 12: "12 % of H2O2 (40 volumes)".
    [40, 12],
    // Common practice, no source.
    [10, 3],
    [20, 6],
    [30, 9],
  ])('%i volumes are %i %%, both ways, and what the chemistry gives', (volumes, percent) => {
    expect(percentOfVolumes(volumes)).toBe(percent);
    expect(volumesOfPercent(percent)).toBe(volumes);
    // 2 H2O2 -> 2 H2O + O2: litres of oxygen at 0 °C and 1 atm from one litre of solution. Molar mass 34.0147 g/mol
    // (IUPAC atomic weights), molar volume 22.414 L/mol (CODATA). The trade rounds by little over one part in a hundred.
    const litres = ((percent * 10) / 34.0147 / 2) * 22.414;
    expect(Math.abs(litres / volumes - 1)).toBeLessThan(0.015);
  });

  it('takes the developer in percent as well, and none at all', async () => {
    await tested();
    const visit = await close();
    const plain = { developerVolumes: undefined, developerParts: undefined };
    const percent = await record(visit, { ...plain, developerPercent: 1.9, developerParts: '1.5' });
    expect(percent.formula).toMatchObject({ developerPercent: 1.9, developerParts: 1.5 });
    expect(percent.developerVolumes).toBeCloseTo(6.33, 2);
    expect(await record(visit, plain)).toMatchObject({
      formula: { developerPercent: null, developerParts: null },
      developerVolumes: null,
    });
  });

  describe('never around the gate', () => {
    it('not on a visit of another service, not even when that becomes a colour afterwards', async () => {
      await tested();
      const visit = await close({ serviceId: salon.fullCut.id });
      await expect(record(visit)).rejects.toMatchObject({ kind: 'refused', code: 'COLOUR.NO_GATE' });
      await store.units.run((manager) =>
        manager.update(Service, { id: salon.fullCut.id }, { kind: 'colour' }),
      );
      await expect(record(visit)).rejects.toMatchObject({ code: 'COLOUR.NO_GATE' });
      await nothingRecorded();
    });

    it('not without a visit: the visit itself is refused without a test', async () => {
      await expect(close()).rejects.toMatchObject({ code: 'SKIN_TEST.NO_TEST' });
      expect(await store.reader.manager.count(Visit)).toBe(0);
      await expect(record({ id: NOBODY })).rejects.toMatchObject({ code: 'VISIT.NOT_FOUND' });
      await nothingRecorded();
    });

    it('not with a line in the bowl that was not tested', async () => {
      await tested();
      const visit = await close();
      const lines = [BOWL.lines[0], { productLine: OTHER, shade: '5', parts: 1 }];
      await expect(record(visit, { lines })).rejects.toMatchObject({
        kind: 'refused',
        code: 'SKIN_TEST.OTHER_PRODUCT_LINE',
        fields: [{ field: 'lines.1.productLine' }],
        details: { cautions: expect.arrayContaining([expect.stringContaining('allergic')]) },
      });
      await nothingRecorded();
      await tested(OTHER);
      await expect(record(visit, { lines })).resolves.toMatchObject({ lines: { length: 2 } });
    });

    it('not with a line whose name only looks alike', async () => {
      await tested();
      const visit = await close();
      for (const productLine of ['Umberline Cream 10+', 'Umberline Cream', 'Umberlıne Cream 10']) {
        await expect(record(visit, { lines: [{ productLine, shade: '1', parts: 1 }] })).rejects.toMatchObject(
          {
            code: 'SKIN_TEST.OTHER_PRODUCT_LINE',
          },
        );
      }
      await nothingRecorded();
      const lines = [{ productLine: '  umberline  CREAM 10 ', shade: '1', parts: 1 }];
      await expect(record(visit, { lines })).resolves.toMatchObject({ lines: { length: 1 } });
    });

    it.each([
      [
        'applied or read only after the colour',
        { appliedAt: at('2026-06-01T11:00Z'), readAt: at('2026-06-03T11:01Z') },
      ],
      ['read only after the colour', { readAt: at('2026-06-02T10:00Z') }],
      [
        'that had not had its 48 hours at the colour',
        { appliedAt: at('2026-05-30T10:00:00.001Z'), readAt: at('2026-06-01T10:30Z') },
      ],
      [
        'that had lapsed at the colour',
        { appliedAt: at('2025-11-01T09:00Z'), readAt: at('2025-11-03T10:00Z') },
      ],
    ])('not with another line whose test is one %s', async (_, changes) => {
      await tested();
      const visit = await close();
      await tested(OTHER, { readingRecordedAt: changes.readAt, ...changes });
      store.clock.at = at('2026-06-10T10:00Z');
      const lines = [{ productLine: OTHER, shade: '5', parts: 1 }];
      await expect(record(visit, { lines })).rejects.toMatchObject({
        kind: 'refused',
        code: expect.stringMatching(/^SKIN_TEST\./),
      });
      await nothingRecorded();
    });

    it('not by dating the visit back to before the test', async () => {
      // Applied on 28 May, 09:00 UTC: the first colour that it lets through begins on 30 May at 09:00 UTC.
      await tested();
      await expect(close({ visitOn: '2026-05-29' })).rejects.toMatchObject({
        kind: 'refused',
        code: 'SKIN_TEST.TOO_SOON',
      });
      expect((await close({ visitOn: '2026-05-31' })).colourAt).toBe(at('2026-05-31T23:00Z') - 1);
    });

    it('not after a bar came up, except to write down what was put on: that line stays recordable', async () => {
      await tested();
      await tested(OTHER);
      const visit = await close();
      await store.units.run((manager) =>
        manager.insert(SafetyNote, {
          id: newId(),
          clientId,
          kind: 'colour-reaction',
          told: 'Itching on the way home',
          notedAt: store.clock.at + 1,
        }),
      );
      store.clock.at += DAY;
      const lines = [{ productLine: OTHER, shade: '5', parts: 1 }];
      await expect(record(visit, { lines })).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
      await expect(record(visit)).resolves.toMatchObject({ formula: { visitId: visit.id } });
      await expect(close()).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
    });
  });

  const line = BOWL.lines[0];
  it.each([
    ['no lines', { lines: [] }, 'lines'],
    ['lines that are no list', { lines: 'all' }, 'lines'],
    ['nothing for a line', { lines: [null] }, 'lines.0'],
    ['a line without its product', { lines: [{ ...line, productLine: ' ' }] }, 'lines.0.productLine'],
    ['a line without its shade', { lines: [{ ...line, shade: undefined }] }, 'lines.0.shade'],
    ['no parts', { lines: [{ ...line, parts: 0 }] }, 'lines.0.parts'],
    ['parts that are no number', { lines: [{ ...line, parts: Number.NaN }] }, 'lines.0.parts'],
    ['parts in words', { lines: [line, { ...line, parts: 'two' }] }, 'lines.1.parts'],
    ['13 lines', { lines: Array.from({ length: 13 }, () => line) }, 'lines'],
    ['a zone nobody has', { zones: ['tail'] }, 'zones'],
    ['no zones', { zones: [] }, 'zones'],
    ['a zone twice', { zones: ['top', 'top'] }, 'zones'],
    ['a place nobody knows', { place: 'ends' }, 'place'],
    ['more than 40 volumes', { developerVolumes: 41 }, 'developerVolumes'],
    ['more than 12 %', { developerVolumes: undefined, developerPercent: 12.1 }, 'developerPercent'],
    ['strength in percent and in volumes', { developerPercent: 6 }, 'developerVolumes'],
    ['a developer without parts', { developerParts: undefined }, 'developerParts'],
    ['parts of no developer', { developerVolumes: undefined }, 'developerPercent'],
    ['no time', { minutes: undefined }, 'minutes'],
    ['a negative time', { minutes: -5 }, 'minutes'],
    ['half a minute', { minutes: 12.5 }, 'minutes'],
    ['a whole day', { minutes: 1440 }, 'minutes'],
    ['no name', { name: '' }, 'name'],
    ['notes beyond 4,000 characters', { notes: 'x'.repeat(4001) }, 'notes'],
    ['a way past the gate', { colourAt: 0 }, 'colourAt'],
  ])('refuses %s, names the field and records nothing', async (_, changes, field) => {
    await tested();
    const visit = await close();
    await expect(record(visit, changes)).rejects.toMatchObject({
      kind: 'invalid',
      fields: [expect.objectContaining({ field })],
    });
    await nothingRecorded();
  });

  it('goes with the client', async () => {
    await tested();
    await record(await close());
    await store.units.run((manager) => manager.delete('client', { id: clientId }));
    await nothingRecorded();
  });
});
