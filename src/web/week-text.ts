import { DomainError } from '../base/index.js';

/** A stretch of a day as people write it; times 'HH:MM'. */
export type DayStretch = { readonly from: string; readonly to: string };

const TIME = String.raw`(\d{1,2})(?:[:.]?(\d{2}))?`;
const STRETCH = new RegExp(String.raw`^${TIME}\s*(?:-|–|to|until)\s*${TIME}$`, 'i');
const NONE = /^(|-|–|off|none|closed)$/i;

/** "09:00–13:00, 14:00–17:30"; empty for a day off. */
export function stretchesText(stretches: readonly DayStretch[]): string {
  return stretches.map(({ from, to }) => `${from}–${to}`).join(', ');
}

/** Reads "9-13, 14-17:30", "0900–1730" or "off". Throws INPUT.INVALID naming `field`. */
export function readStretches(text: string, field: string, name: string): DayStretch[] {
  if (NONE.test(text.trim())) return [];
  return text
    .split(/[,;]|\band\b/)
    .filter((part) => part.trim() !== '')
    .map((part) => {
      const [, fromHour, fromMinute = '00', toHour, toMinute = '00'] = STRETCH.exec(part.trim()) ?? [];
      const [from, to] = [timeOf(fromHour, fromMinute), timeOf(toHour, toMinute)];
      if (from && to) return { from, to };
      throw DomainError.invalid(
        'INPUT.INVALID',
        field,
        `${name}: write from when to when, such as 9–13, 14–17:30, or “off”.`,
      );
    });
}

function timeOf(hour: string | undefined, minute: string): string | undefined {
  if (hour === undefined || Number(hour) > 23 || Number(minute) > 59) return undefined;
  return `${hour.padStart(2, '0')}:${minute}`;
}

type Entry = DayStretch & { readonly weekday: number };

/** The seven boxes `day.1` to `day.7` of a form, from a week's stretches. */
export function weekValues(entries: readonly Entry[]): Record<string, string> {
  return Object.fromEntries(
    [1, 2, 3, 4, 5, 6, 7].map((day) => [
      `day.${day}`,
      stretchesText(
        entries.filter(({ weekday }) => weekday === day).sort((a, b) => (a.from < b.from ? -1 : 1)),
      ),
    ]),
  );
}

/** The boxes as stretches, and the box that an "entries.<place>…" of a refusal belongs to. Throws INPUT.INVALID. */
export function readWeek(values: Readonly<Record<string, string>>, names: readonly string[]) {
  const entries: Entry[] = [];
  const problems = [];
  for (const weekday of [1, 2, 3, 4, 5, 6, 7]) {
    const field = `day.${weekday}`;
    try {
      const read = readStretches(values[field] ?? '', field, names[weekday - 1] ?? field);
      entries.push(...read.map((stretch) => ({ weekday, ...stretch })));
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      problems.push(...error.fields);
    }
  }
  if (problems.length > 0) {
    const words = problems.map(({ message }) => message).join(' ');
    throw new DomainError('invalid', 'INPUT.INVALID', words, problems);
  }
  return entries;
}

/** Names the box of a form that "entries.<place>…" is about. */
export function weekField(entries: readonly { readonly weekday: number }[], field: string): string {
  const [, place] = /^entries\.(\d+)/.exec(field) ?? [];
  const weekday = place === undefined ? undefined : entries[Number(place)]?.weekday;
  return weekday === undefined ? field : `day.${weekday}`;
}
