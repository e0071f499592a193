import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { addDays, validated } from '../../../src/base/index.js';
import { ColourEffects, ColourFormulas } from '../../../src/colour/index.js';
import { Formulas, GrowthProfiles, VisitInput, Visits } from '../../../src/cuts/index.js';
import { SYSTEM } from '../../../src/identity/index.js';
import { FollowColour } from '../../../src/rebooking/follow-colour.js';
import { Windows } from '../../../src/rebooking/index.js';
import { ColourGate, SkinTest } from '../../../src/skin-tests/index.js';
import { newId } from '../../../src/store/index.js';
import { makeClient } from '../../factories/clients.js';
import { CROP } from '../../factories/cuts.js';
import { makeSalon, openTestStore, type TestSalon, type TestStore } from '../../factories/salon.js';

const LINE = 'Umberline Cream 10';
const DAY = 86_400_000;
const CUT_ON = '2026-06-01';
const BAND_MM = 14;
const BOWL = {
  name: 'Roots',
  zones: ['top', 'crown'],
  place: 'roots',
  lines: [{ productLine: LINE, shade: '6/0', parts: 1 }],
  minutes: 35,
};
/** The root band alone ends this shape. */
const SHAPE = { ...CROP, limits: [{ kind: 'root-band', zone: 'top', value: BAND_MM }] };

describe('a window with a root-band limit', () => {
  let store: TestStore;
  let salon: TestSalon;
  let clientId: string;
  let windows: Windows;
  let visits: Visits;
  let colours: ColourFormulas;

  beforeEach(async () => {
    store = await openTestStore(`${CUT_ON}T10:00:00Z`);
    salon = await makeSalon(store);
    clientId = (await makeClient(store, salon.salon.id)).id;
    const { units, reader, clock, audit } = store;
    const [formulas, profiles, gate] = [new Formulas(), new GrowthProfiles(), new ColourGate()];
    const effects = new ColourEffects();
    windows = new Windows(clock, formulas, profiles);
    visits = new Visits(clock, audit, formulas, profiles, gate);
    colours = new ColourFormulas(units, reader, clock, audit, gate, effects);
    new FollowColour(effects, windows).onModuleInit();
    const appliedAt = store.clock.at - 4 * DAY;
    const readAt = store.clock.at - DAY;
    await units.run((manager) =>
      manager.insert(SkinTest, {
        id: newId(),
        version: 1,
        clientId,
        productLine: LINE,
        place: 'inner elbow',
        appliedAt,
        readAt,
        readingRecordedAt: readAt,
        result: 'clear',
      }),
    );
    await close({ serviceId: salon.fullCut.id, formula: SHAPE });
  });
  afterEach(() => store.close());

  async function close(changes: object): Promise<string> {
    const input = await validated(VisitInput, { clientId, staffId: salon.mara.id, ...changes });
    return await store.units.run(async (manager) => {
      const { id } = await visits.close(manager, input, SYSTEM);
      await windows.refresh(manager, clientId);
      return id;
    });
  }

  async function colour(changes: object = {}): Promise<void> {
    const visitId = await close({ serviceId: salon.colour.id, productLine: LINE });
    await colours.record(visitId, { ...BOWL, ...changes }, SYSTEM);
  }

  const stored = () => windows.of(store.reader.manager, clientId);
  // 0.35 mm a day, our summary of the published adult rates: 14 mm after 40 days.
  const dueAfter = (date: string) => addDays(date, 40);

  it('counts from the cut where no colour is on record', async () => {
    expect(await stored()).toMatchObject({ cutOn: CUT_ON, dueOn: dueAfter(CUT_ON) });
  });

  it('counts from the day of colour, as soon as the mixture is on record', async () => {
    store.clock.at += 12 * DAY;
    await colour();
    const after = await stored();
    expect(after).toMatchObject({ cutOn: CUT_ON, dueOn: dueAfter('2026-06-13') });
    // Whatever is computed afresh says the same as what is stored.
    const { earliestOn, dueOn, latestOn } = after ?? {};
    expect(await windows.compute(store.reader.manager, clientId)).toMatchObject({
      earliestOn,
      dueOn,
      latestOn,
    });
    // sd of a zone's rate: hypot(0.06, 0.08 x 0.35); the normal quantile of 10 and 90 % is 1.2816.
    const sd = 1.2816 * Math.hypot(0.06, 0.028);
    expect(earliestOn).toBe(addDays('2026-06-13', Math.round(BAND_MM / (0.35 + sd))));
    expect(latestOn).toBe(addDays('2026-06-13', Math.round(BAND_MM / (0.35 - sd))));
  });

  it('keeps the day of colour when the hair is cut afterwards', async () => {
    await colour();
    store.clock.at += 20 * DAY;
    await close({ serviceId: salon.fullCut.id, formula: SHAPE });
    expect(await stored()).toMatchObject({ cutOn: '2026-06-21', dueOn: dueAfter(CUT_ON) });
  });

  it('is not moved by a colour of the lengths, nor of another zone', async () => {
    store.clock.at += 12 * DAY;
    await colour({ place: 'lengths' });
    await colour({ zones: ['nape'] });
    expect(await stored()).toMatchObject({ dueOn: dueAfter(CUT_ON) });
  });
});
