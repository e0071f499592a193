import { type EntityManager, In, type SelectQueryBuilder } from 'typeorm';
import { isPostgres } from '../store/index.js';
import { Client } from './entities.js';
import { foldName } from './search-text.js';
import { slipsForgiven, slipsToBeginning } from './slips.js';

/** With fewer exact hits than this, words with small slips are looked for too. */
const FEW = 3;
const MOST_WORDS = 6;
const LONGEST_TEXT = 120;
/** Phone digits sort below every letter. */
const NINE = '9'.charCodeAt(0);

type Sought = {
  readonly words: readonly string[];
  /** The digits as typed and without leading zeros, which a number in E.164 does not have; empty when none. */
  readonly digits: readonly string[];
};

function soughtIn(text: string): Sought {
  const parts = foldName(text.slice(0, LONGEST_TEXT).replace(/\(0\)/g, '')).split(' ').filter(Boolean);
  const digits = parts.filter((part) => /^\d+$/.test(part)).join('');
  return {
    words: parts.filter((part) => !/^\d+$/.test(part)).slice(0, MOST_WORDS),
    digits: digits === '' ? [] : [...new Set([digits, digits.replace(/^0+/, '') || digits])],
  };
}

/**
 * Clients of a salon whose names and phone hold all that was typed, best first: whole words, beginnings of
 * words, anywhere; when they are few, then those that small slips explain. Accents, case, the order of words
 * and blanks in phone numbers make no difference.
 */
export async function searchClients(
  manager: EntityManager,
  salonId: string,
  text: string,
  limit: number,
): Promise<Client[]> {
  const sought = soughtIn(text);
  if (sought.words.length === 0 && sought.digits.length === 0) return [];
  const ids = await exactHits(manager, salonId, sought, limit);
  if (ids.length < Math.min(FEW, limit) && sought.words.length > 0) {
    const known = new Set(ids);
    const near = await nearHits(manager, salonId, sought, limit);
    ids.push(...near.filter((id) => !known.has(id)));
  }
  const wanted = ids.slice(0, limit);
  const clients = await manager.findBy(Client, { id: In(wanted) });
  const byId = new Map(clients.map((client) => [client.id, client]));
  return wanted.flatMap((id) => byId.get(id) ?? []);
}

async function exactHits(
  manager: EntityManager,
  salonId: string,
  { words, digits }: Sought,
  limit: number,
): Promise<string[]> {
  const query = ofSalon(manager, salonId).select('client.id', 'id');
  const ranks = words.map((word, i) => {
    query.andWhere(`client.searchText LIKE :any${i}`);
    query.setParameters({
      [`any${i}`]: `%${word}%`,
      [`start${i}`]: `% ${word}%`,
      [`whole${i}`]: `% ${word} %`,
    });
    return `CASE WHEN ' ' || client.searchText || ' ' LIKE :whole${i} THEN 0 WHEN ' ' || client.searchText LIKE :start${i} THEN 1 ELSE 2 END`;
  });
  if (digits.length > 0) {
    query.andWhere(`(${digits.map((_, i) => `client.searchText LIKE :digits${i}`).join(' OR ')})`);
    digits.forEach((run, i) => {
      query.setParameter(`digits${i}`, `%${run}%`);
    });
  }
  const rows = await query
    .addSelect(ranks.length === 0 ? '0' : ranks.join(' + '), 'rank')
    .orderBy('rank', 'ASC')
    .addOrderBy('client.searchText', 'ASC')
    .addOrderBy('client.id', 'ASC')
    .limit(limit)
    .getRawMany<{ id: string }>();
  return rows.map(({ id }) => id);
}

async function nearHits(
  manager: EntityManager,
  salonId: string,
  { words, digits }: Sought,
  limit: number,
): Promise<string[]> {
  const counters = words.map(slipCounter);
  const hits: { id: string; slips: number; text: string }[] = [];
  for (const line of await searchLines(manager, salonId)) {
    const [id = '', ...parts] = line.split(' ');
    if (digits.length > 0 && !digits.some((run) => line.includes(run, id.length))) continue;
    let slips = 0;
    for (const count of counters) {
      let least = Number.POSITIVE_INFINITY;
      for (const part of parts) {
        const here = count(part);
        if (here < least) least = here;
      }
      slips += least;
    }
    if (slips < Number.POSITIVE_INFINITY) hits.push({ id, slips, text: parts.join(' ') });
  }
  hits.sort((one, other) => one.slips - other.slips || (one.text < other.text ? -1 : 1));
  return hits.slice(0, limit).map(({ id }) => id);
}

/** Slips from a typed word to a name, infinite when not forgiven. Names repeat, so each is counted once. */
function slipCounter(typed: string): (name: string) => number {
  const most = slipsForgiven(typed.length);
  const counted = new Map<string, number>();
  return (name) => {
    if (name.charCodeAt(0) <= NINE) return Number.POSITIVE_INFINITY;
    let slips = counted.get(name);
    if (slips === undefined) {
      const least = slipsToBeginning(typed, name, most);
      slips = least > most ? Number.POSITIVE_INFINITY : least;
      counted.set(name, slips);
    }
    return slips;
  };
}

/**
 * "id name name digits" of every client of the salon. One joined text instead of a row each: carrying 10,000
 * rows over from the driver takes longer than reading them all.
 */
async function searchLines(manager: EntityManager, salonId: string): Promise<string[]> {
  const line = "client.id || ' ' || client.searchText";
  const joined = isPostgres(manager) ? `string_agg(${line}, chr(10))` : `group_concat(${line}, char(10))`;
  const row = await ofSalon(manager, salonId).select(joined, 'lines').getRawOne<{ lines: string | null }>();
  return row?.lines?.split('\n') ?? [];
}

function ofSalon(manager: EntityManager, salonId: string): SelectQueryBuilder<Client> {
  return manager.createQueryBuilder(Client, 'client').where('client.salonId = :salonId', { salonId });
}
