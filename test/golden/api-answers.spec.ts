import { readFileSync } from 'node:fs';
import { expect, it } from '@jest/globals';

it('answers are described as the handlers’ types are now: else run `npm run answers`', async () => {
  const module = new URL('../../.config/api-answers.mjs', import.meta.url);
  const { apiAnswers, ANSWERS_FILE } = await import(`${module}`);
  expect(JSON.parse(readFileSync(ANSWERS_FILE, 'utf8'))).toEqual(JSON.parse(apiAnswers()));
}, 120_000);
