/** Between instants, rows of five minutes and places on the screen. Rows count elapsed time, as the server's do. */
export const ROW_MS = 5 * 60_000;
const MINUTE_MS = 60_000;

/** A stretch in a column. */
export type Wish = { readonly column: HTMLElement; readonly startsAt: number; readonly endsAt: number };

export const numberOf = (element: HTMLElement, name: string): number => Number(element.dataset[name]);

export function bookOf(column: HTMLElement): HTMLElement {
  return column.closest<HTMLElement>('.day-book') ?? column;
}

/** First and one-past-last instant of a column. */
export function boundsOf(column: HTMLElement): { from: number; until: number } {
  const from = numberOf(column, 'from');
  return { from, until: from + numberOf(bookOf(column), 'rows') * 60 * MINUTE_MS };
}

/** The same classes as `placeOf` gives on the server. */
export function placeOf({ column, startsAt, endsAt }: Wish): string {
  const { from, until } = boundsOf(column);
  const minutes = (instant: number) => (Math.min(Math.max(instant, from), until) - from) / MINUTE_MS;
  const first = Math.floor(minutes(startsAt) / 5) * 5;
  const last = Math.max(Math.ceil(minutes(endsAt) / 5) * 5, first + 5);
  return `h-${Math.floor(first / 60)} m-${first % 60} to-h-${Math.floor(last / 60)} to-m-${last % 60}`;
}

/** The instant at a height of the window: rows may differ in height where text needs more room. */
export function instantAt(column: HTMLElement, clientY: number): number {
  const { from, until } = boundsOf(column);
  const box = column.getBoundingClientRect();
  const rows = getComputedStyle(bookOf(column)).gridTemplateRows.split(' ').map(Number.parseFloat).slice(1);
  let y = clientY - box.top;
  let instant = from;
  for (const height of rows) {
    if (y < height || instant >= until) break;
    y -= height;
    instant += ROW_MS;
  }
  const within = rows.length === 0 ? 0 : Math.max(0, y) / (rows[Math.round((instant - from) / ROW_MS)] ?? 1);
  return Math.min(Math.max(instant + Math.min(within, 1) * ROW_MS, from), until);
}

/** What the salon's clock shows. */
export function clockIn(zone: string): (instant: number) => string {
  const format = new Intl.DateTimeFormat('en-GB', {
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
    timeZone: zone,
  });
  return (instant) => format.format(instant);
}

/** A quarter-hour, or the edge of a neighbour, whichever is nearest: what a hand means. */
export function snapped(column: HTMLElement, startsAt: number, lengthMs: number, self: string): number {
  const { from } = boundsOf(column);
  const quarter = 3 * ROW_MS;
  const near = [from + Math.round((startsAt - from) / quarter) * quarter];
  for (const other of column.querySelectorAll<HTMLElement>('.entry[data-starts-at]')) {
    if (other.dataset['id'] === self) continue;
    near.push(numberOf(other, 'endsAt'), numberOf(other, 'startsAt') - lengthMs);
  }
  return near.reduce((best, one) => (Math.abs(one - startsAt) < Math.abs(best - startsAt) ? one : best));
}
