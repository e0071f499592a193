import { describe, expect, it } from '@jest/globals';
import { Logger } from '@nestjs/common';
import type { Turns } from '../store/index.js';
import { Sweeps } from './sweeps.js';

Logger.overrideLogger(false);

describe('sweeps', () => {
  it('run where they have the turn, one that fails stopping no other', async () => {
    const ran: string[] = [];
    const turns = { take: async (name: string) => name !== 'taken' } satisfies Pick<Turns, 'take'>;
    const sweeps = new Sweeps(
      {
        broken: async () => {
          throw new Error('disk');
        },
        taken: async () => ran.push('taken'),
        mine: async () => ran.push('mine'),
      },
      turns,
    );
    sweeps.onApplicationBootstrap();
    await sweeps.beforeApplicationShutdown();
    expect(ran).toEqual(['mine']);
  });
});
