import { Client } from '../../src/clients/index.js';
import { newId } from '../../src/store/index.js';
import { insertRows } from '../../src/store/insert-rows.js';
import { clientsOf, makeClient } from '../factories/clients.js';
import { makeSalon, openTestStore } from '../factories/salon.js';
import { type BenchOptions, type BenchRow, quartersRow } from './row.js';

const CLIENTS = 10_000;
/** Milliseconds from the key to the list, on which the desk types on without noticing. */
const MOST_MS = 50;
const SYLLABLES = ['bra', 'den', 'fol', 'gri', 'hun', 'jas', 'kel', 'lom', 'mir', 'nev', 'pos', 'rud'];
const TEXTS = {
  'a name': 'ottilie',
  'two names with a slip': 'otilie farnsby',
  'one letter': 'a',
  'two made-up words': 'brabrabra griden',
  'a slip in a common word': 'kelmirnevv',
  'the digits of a phone': '020794',
};

const word = (n: number) =>
  [n % 12, Math.floor(n / 12) % 12, Math.floor(n / 144) % 12].map((i) => SYLLABLES[i]).join('');

/** What the desk types, searched for among 10,000 clients. */
export async function benchSearch({ quick }: BenchOptions): Promise<BenchRow[]> {
  const store = await openTestStore();
  try {
    const { id: salonId } = (await makeSalon(store)).salon;
    const model = await makeClient(store, salonId, { givenName: 'Ottilie', familyName: 'Farnsby' });
    const rows = Array.from({ length: CLIENTS - 1 }, (_, i) => ({
      ...model,
      id: newId(),
      healthNotes: '',
      searchText: `${word(i)} ${word(i * 7 + 3)} 4420794${String(i).padStart(5, '0')}`,
    }));
    await store.units.run((manager) => insertRows(manager, Client, rows as Client[]));
    await store.sources.writer.query('ANALYZE');
    const clients = clientsOf(store);
    const times = new Map(Object.keys(TEXTS).map((name) => [name, [] as number[]]));
    for (let round = 0; round < (quick ? 5 : 30); round += 1) {
      for (const [name, text] of Object.entries(TEXTS)) {
        const start = performance.now();
        if ((await clients.search(salonId, text)).length === 0) throw new Error(`Nobody found by ${name}.`);
        times.get(name)?.push(performance.now() - start);
      }
    }
    return [...times].map(([name, ms]) =>
      quartersRow(`clients found by ${name}, of ${CLIENTS}`, ms, 'ms', MOST_MS),
    );
  } finally {
    await store.close();
  }
}
