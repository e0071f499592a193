import { describe, expect, it } from '@jest/globals';
import { InBatches } from './in-batches.js';

describe('work in batches', () => {
  it('serves one alone at once and those who come meanwhile together, each with its own answer', async () => {
    const batches: number[][] = [];
    const doubling = new InBatches<number, number>(async (items) => {
      batches.push([...items]);
      await new Promise((later) => setTimeout(later, 5));
      return items.map((item) => item * 2);
    });
    const first = doubling.do(1);
    await new Promise((later) => setTimeout(later, 1));
    const others = [2, 3, 4].map((item) => doubling.do(item));
    expect(await Promise.all([first, ...others])).toEqual([2, 4, 6, 8]);
    expect(batches).toEqual([[1], [2, 3, 4]]);
    expect(await doubling.do(5)).toBe(10);
  });

  it('lets only those hear of trouble who cause it', async () => {
    const tried: number[][] = [];
    const refusing = new InBatches<number, number>(async (items) => {
      tried.push([...items]);
      if (items.includes(3)) throw new Error('three');
      return items;
    });
    const outcomes = await Promise.allSettled([1, 2, 3, 4].map((item) => refusing.do(item)));
    expect(outcomes.map(({ status }) => status)).toEqual(['fulfilled', 'fulfilled', 'rejected', 'fulfilled']);
    expect(tried).toEqual([[1, 2, 3, 4], [1], [2], [3], [4]]);
  });

  it('keeps those together who were let go on together, though they come back one by one', async () => {
    const batches: number[] = [];
    const gathering = new InBatches<number, number>(async (items) => {
      batches.push(items.length);
      return items;
    }, 2_000);
    const turn = () => new Promise((later) => setTimeout(later, 1));
    await Promise.all([1, 2, 3].map((item) => gathering.do(item)));
    const late: Promise<number>[] = [];
    for (const item of [1, 2, 3]) {
      late.push(gathering.do(item));
      await turn();
    }
    await Promise.all(late);
    expect(batches).toEqual([3, 3]);
  });

  it('does not wait for ever for those who do not come back', async () => {
    const gathering = new InBatches<number, number>(async (items) => items, 20);
    await Promise.all([1, 2, 3].map((item) => gathering.do(item)));
    expect(await gathering.do(4)).toBe(4);
    expect(await gathering.do(5)).toBe(5);
  });
});
