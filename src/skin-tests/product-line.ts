/**
 * Whether two names mean the very same product line: letter case and blanks aside, every sign counts
 * ("Line" is not "Line +").
 */
export function sameProductLine(one: string, other: string): boolean {
  return lineKey(one) === lineKey(other);
}

function lineKey(name: string): string {
  return name.normalize('NFC').trim().replace(/\s+/gu, ' ').toLowerCase();
}
