import type { EntityManager } from 'typeorm';
import { type Chart, type Figure, type FigureRow, SMALL_GROUP, shareCells, shareColumns } from './figure.js';
import { inOrder } from './in-order.js';
import { CUT_WORDS, cutKind, namesOf } from './names.js';
import type { CutBy } from './scope.js';
import { wilson } from './wilson.js';

export type Counted = { readonly key: string; readonly of: number; readonly count: number };

export type ShareWords = Pick<Figure, 'key' | 'title' | 'definition' | 'caution'> & {
  /** Heads of the two counts: "Visits", "Rebooked". */
  readonly of: string;
  readonly count: string;
};

/** Counts by group as a figure: all together first, then each group with its Wilson interval. */
export async function sharesFigure(
  manager: EntityManager,
  by: CutBy,
  counted: readonly Counted[],
  { of, count, ...words }: ShareWords,
): Promise<Figure> {
  const nameOf = await namesOf(manager, by);
  const groups = counted
    .filter((group) => group.of > 0)
    .map((group) => ({ ...group, name: nameOf(group.key), share: wilson(group.count, group.of) }));
  const ordered = inOrder(by, groups, ({ share }) => share.share);
  const all = wilson(
    groups.reduce((sum, group) => sum + group.count, 0),
    groups.reduce((sum, group) => sum + group.of, 0),
  );
  const rows: FigureRow[] = [
    { cells: { group: 'All', ...shareCells(all) }, whole: true, small: all.of < SMALL_GROUP },
    ...ordered.map(({ key, name, share }) => ({
      cells: { group: by === 'month' ? key : name, ...shareCells(share) },
      small: share.of < SMALL_GROUP,
    })),
  ];
  const chart: Chart = {
    kind: 'shares',
    x: `${count}, % of ${of.toLowerCase()}`,
    rows: ordered
      .filter(({ share }) => share.of >= SMALL_GROUP)
      .map(({ key, name, share }) => ({ name: by === 'month' ? key : name, ...share })),
  };
  return {
    ...words,
    columns: [{ key: 'group', label: CUT_WORDS[by], kind: cutKind(by) }, ...shareColumns(of, count)],
    rows,
    ...(chart.rows.length > 0 && { chart }),
  };
}
