import { DomainError, type FieldProblem } from '../base/index.js';

/** One stretch of one weekday, as somebody typed it; times 'HH:MM', which sort as text. */
type Stretch = { readonly weekday: number; readonly from: string; readonly to: string };

/**
 * Throws `code` unless every stretch ends after it starts and none overlaps another of its weekday.
 * Fields are named "entries.<place>.<to>" after the list the caller was given.
 */
export function requireTidyWeek(code: string, stretches: readonly Stretch[], endField: string): void {
  const problems: FieldProblem[] = [];
  stretches.forEach((stretch, place) => {
    const field = `entries.${place}.${endField}`;
    if (stretch.to <= stretch.from) {
      problems.push({ field, message: `The end must be later than ${stretch.from}, on the same day.` });
      return;
    }
    const rival = stretches.find(
      (other, i) =>
        i !== place &&
        other.weekday === stretch.weekday &&
        other.from < stretch.to &&
        stretch.from < other.to &&
        (other.from < stretch.from || (other.from === stretch.from && i < place)),
    );
    if (rival) {
      problems.push({
        field: `entries.${place}`,
        message: `This stretch overlaps ${rival.from}–${rival.to} of the same day. Shorten one of them.`,
      });
    }
  });
  if (problems.length > 0) {
    throw new DomainError('invalid', code, problems.map((problem) => problem.message).join(' '), problems);
  }
}
