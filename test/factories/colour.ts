import { expect } from '@jest/globals';
import { validated } from '../../src/base/index.js';
import {
  ColourEffects,
  ColourFormula,
  ColourFormulas,
  ColourLine,
  RootBands,
} from '../../src/colour/index.js';
import { Formulas, GrowthProfiles, type Visit, VisitInput, Visits } from '../../src/cuts/index.js';
import type { Actor } from '../../src/identity/index.js';
import { ColourGate, SkinTest } from '../../src/skin-tests/index.js';
import { newId } from '../../src/store/index.js';
import { makeClient } from './clients.js';
import { makeSalon, openTestStore } from './salon.js';

export const LINE = 'Umberline Cream 10';
export const at = (text: string) => Date.parse(text);
export const stylist: Actor = { accountId: null, role: 'stylist' };

export const BOWL = {
  name: 'Roots',
  zones: ['top', 'crown', 'fringe'],
  place: 'roots',
  lines: [
    { productLine: LINE, shade: '6/0', parts: 2 },
    { productLine: LINE, shade: '6/3', parts: 1 },
  ],
  developerVolumes: 20,
  developerParts: 3,
  minutes: 35,
  notes: 'Nape first',
};

/** A salon with a client on 1 June 2026, and how she is tested, coloured and written up. */
export async function openColourRoom() {
  const store = await openTestStore('2026-06-01T10:00:00Z');
  const salon = await makeSalon(store);
  const clientId = (await makeClient(store, salon.salon.id)).id;
  const { units, reader, clock, audit } = store;
  const profiles = new GrowthProfiles();
  const colours = new ColourFormulas(units, reader, clock, audit, new ColourGate(), new ColourEffects());
  const bands = new RootBands(units, reader, clock, audit, profiles);

  const tested = (productLine = LINE, changes: Partial<SkinTest> = {}) =>
    store.units.run((manager) =>
      manager.insert(SkinTest, {
        id: newId(),
        version: 1,
        clientId,
        productLine,
        place: 'inner elbow',
        appliedAt: at('2026-05-28T09:00Z'),
        readAt: at('2026-05-30T10:00Z'),
        readingRecordedAt: at('2026-05-30T10:00Z'),
        result: 'clear',
        ...changes,
      }),
    );
  const close = async (changes: object = {}, startedAt?: number): Promise<Visit> => {
    const visits = new Visits(clock, audit, new Formulas(), profiles, new ColourGate());
    const parties = { clientId, staffId: salon.mara.id, serviceId: salon.colour.id, productLine: LINE };
    const input = await validated(VisitInput, { ...parties, ...changes });
    return await units.run((manager) => visits.close(manager, input, stylist, startedAt));
  };
  const record = (visit: { id: string }, changes: object = {}) =>
    colours.record(visit.id, { ...BOWL, ...changes }, stylist);
  const nothingRecorded = async () => {
    expect(await store.reader.manager.count(ColourFormula)).toBe(0);
    expect(await store.reader.manager.count(ColourLine)).toBe(0);
  };
  return { store, salon, clientId, profiles, colours, bands, tested, close, record, nothingRecorded };
}

export type ColourRoom = Awaited<ReturnType<typeof openColourRoom>>;
