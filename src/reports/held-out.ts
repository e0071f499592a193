const DIGITS = 4;
const STEPS = 16 ** DIGITS;

/** Clients' ids end in random digits (UUID v7, RFC 9562 section 5.7): the last four serve as their hash. */
function threshold(percent: number): string {
  return Math.round((percent / 100) * STEPS)
    .toString(16)
    .padStart(DIGITS, '0');
}

/**
 * Whether a client belongs to the share that is left without nudges: always the same answer for the same client and
 * percentage, and who is left out at 10 % is so at 20 % too. `percent` from 0 to 50.
 */
export function isHeldOut(clientId: string, percent: number): boolean {
  return clientId.slice(-DIGITS) < threshold(percent);
}

/** The same as a condition on a column. */
export function heldOutSql(column: string, percent: number): string {
  return `substr(${column}, ${37 - DIGITS}, ${DIGITS}) < '${threshold(percent)}'`;
}
