import { ConsoleLogger } from '@nestjs/common';

/** Each kind of personal or secret text that might find its way into a message, and what stands for it. */
const RULES: readonly (readonly [pattern: RegExp, stands: string])[] = [
  [/sealed:1:[0-9a-f]{8}:[\w-]+/g, '[sealed]'],
  [/\b(Bearer|Basic)\s+[\w.~+/=-]+/gi, '$1 [secret]'],
  [/\b(link|token|password|code|pin|secret|_csrf)=[^\s&"']+/gi, '$1=[secret]'],
  [
    /("(?:password|presentPassword|token|pin|code|secret|healthNotes|told|seen|says|notes)"\s*:\s*)"(?:[^"\\]|\\.)*"/g,
    '$1"[secret]"',
  ],
  [/\b[a-z]+:\/\/[^\s/:@]+:[^\s/@]+@/gi, '[address with password]@'],
  [/[\w.+-]+@[\w-]+(?:\.[\w-]+)+/g, '[mail address]'],
  [/\+\d[\d ()-]{6,18}\d/g, '[phone number]'],
  [/hfi_[\w-]{20,}/g, '[token]'],
];
// biome-ignore lint/suspicious/noControlCharactersInRegex: these are what must not reach a log
const LINE_BREAKERS = /[\r\u0000-\u0008\u000b-\u001f\u007f\u2028\u2029]/g;

/** Takes personal data, secrets and control characters out of a text that is to be logged. */
export function redact(text: string): string {
  return RULES.reduce((kept, [pattern, stands]) => kept.replace(pattern, stands), text).replace(
    LINE_BREAKERS,
    ' ',
  );
}

function redacted(value: unknown): unknown {
  if (typeof value === 'string') return redact(value);
  if (value instanceof Error) return redact(value.stack ?? value.message);
  return value;
}

/** Nest's logger with everything it writes redacted. */
export class RedactingLogger extends ConsoleLogger {
  override log(message: unknown, ...rest: unknown[]): void {
    super.log(redacted(message), ...rest.map(redacted));
  }

  override warn(message: unknown, ...rest: unknown[]): void {
    super.warn(redacted(message), ...rest.map(redacted));
  }

  override error(message: unknown, ...rest: unknown[]): void {
    super.error(redacted(message), ...rest.map(redacted));
  }
}
