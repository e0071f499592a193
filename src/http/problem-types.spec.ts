import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { projectRoot } from '../base/index.js';
import { PROBLEM_TYPES } from './problem-types.js';

/** Pages and the operator's program have codes of their own, which no answer of the API bears. */
const ELSEWHERE = /^src\/(web|cli|keep|jobs|store\/move)\//;

const SOURCES = readdirSync(join(projectRoot(), 'src'), { encoding: 'utf8', recursive: true })
  .map((path) => `src/${path}`)
  .filter(
    (path) =>
      !ELSEWHERE.test(path) &&
      path.endsWith('.ts') &&
      !path.endsWith('.spec.ts') &&
      !path.endsWith('problem-types.ts'),
  )
  .map((path) => readFileSync(join(projectRoot(), path), 'utf8'));

function found(pattern: RegExp): Set<string> {
  return new Set(SOURCES.flatMap((text) => [...text.matchAll(pattern)].map(([, code]) => `${code}`)));
}

describe('the list of problems', () => {
  const written = found(/'([A-Z][A-Z_]+\.[A-Z][A-Z_]+)'/g);
  // What `loadForEdit` makes codes of.
  const records = found(/= \{ code: '([A-Z_]+)', name: /g);

  // Put together at the place: their parts are spelled out beside them.
  const built = found(/`([A-Z_]+)\.\$\{/g);

  it('finds codes at all', () => {
    expect(written.size).toBeGreaterThan(150);
    expect(records.size).toBeGreaterThan(8);
  });

  it('explains every code that the API can answer with', () => {
    const made = [...records].flatMap((record) => [`${record}.NOT_FOUND`, `${record}.STALE`]);
    const missing = [...written, ...made].filter((code) => !PROBLEM_TYPES.has(code));
    expect(missing.sort()).toEqual([]);
    const known = new Set([...PROBLEM_TYPES.keys()].map((code) => code.split('.', 1)[0]));
    expect([...built].filter((part) => !known.has(part))).toEqual([]);
    const invitations = readFileSync(join(projectRoot(), 'src/reminders/invitations.ts'), 'utf8');
    for (const [, code] of invitations.matchAll(/refused\(\s*'([A-Z_]+)'/g)) {
      expect(PROBLEM_TYPES.has(`INVITE.${code}`)).toBe(true);
    }
  });

  it('explains none that nobody answers with', () => {
    const idle = [...PROBLEM_TYPES.keys()].filter(
      (code) =>
        /^[A-Z_]+\.[A-Z][A-Z_]+$/.test(code) &&
        !written.has(code) &&
        !/\.(NOT_FOUND|STALE|SIGNATURE)$/.test(code) &&
        !built.has(code.split('.', 1)[0] ?? ''),
    );
    expect(idle).toEqual([]);
  });
});
