import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Logger, type LoggerService } from '@nestjs/common';
import { EmbeddedDispatcher } from '../../src/jobs/index.js';
import type { Dispatcher, Upkeep } from '../../src/reminders/index.js';
import { readSettings } from '../../src/store/index.js';
import { bookAt, dispatcherOf, KeepingSender, openDesk, type TestDesk } from '../factories/reminders.js';
import { until } from '../factories/until.js';

const EVERY_MS = 10;
const pause = (ms: number) => new Promise((later) => setTimeout(later, ms));

describe('the dispatcher inside the web process', () => {
  let desk: TestDesk;
  let embedded: EmbeddedDispatcher | undefined;
  let errors: unknown[];

  beforeEach(async () => {
    desk = await openDesk();
    errors = [];
    const silent = () => undefined;
    const keeping: LoggerService = {
      log: silent,
      warn: silent,
      error: (message: unknown) => errors.push(message),
    };
    Logger.overrideLogger(keeping);
  });
  afterEach(async () => {
    await embedded?.stop();
    await desk.close();
  });

  function run(dispatcher: Pick<Dispatcher, 'deliverDue'>): EmbeddedDispatcher {
    const settings = readSettings({ DISPATCH_EVERY_MS: `${EVERY_MS}` });
    const upkeep: Pick<Upkeep, 'nowAndThen'> = { nowAndThen: async () => undefined };
    embedded = new EmbeddedDispatcher(dispatcher as Dispatcher, upkeep as Upkeep, settings);
    embedded.onApplicationBootstrap();
    return embedded;
  }

  it('sends what is owed soon after it is owed, and goes on looking', async () => {
    const sender = new KeepingSender();
    run(dispatcherOf(desk, sender));
    await bookAt(desk, '2026-06-18T13:30:00Z');
    await until(() => sender.kept.length === 1);
    await bookAt(desk, '2026-06-19T13:30:00Z');
    await until(() => sender.kept.length === 2);
    expect(errors).toEqual([]);
  });

  it('finishes what it has in hand before it stops, and leaves the rest owed', async () => {
    for (let day = 10; day < 16; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    let letGo: () => void = () => undefined;
    const gate = new Promise<void>((open) => {
      letGo = open;
    });
    let begun = 0;
    const sender = new KeepingSender(() => {
      begun += 1;
      return gate;
    });
    const dispatcher = run(dispatcherOf(desk, sender, { atOnce: 2 }));
    await until(() => begun === 2);

    let stopped = false;
    const stopping = dispatcher.beforeApplicationShutdown().then(() => {
      stopped = true;
    });
    await pause(30);
    expect(stopped).toBe(false);
    letGo();
    await stopping;
    expect(await desk.messages.counts(desk.salon.id)).toMatchObject({ sent: 2, owed: 10 });
    await pause(5 * EVERY_MS);
    expect(sender.kept).toHaveLength(2);
  });

  it('never runs twice at once, however long a run takes', async () => {
    let inside = 0;
    let most = 0;
    let runs = 0;
    run({
      deliverDue: async () => {
        inside += 1;
        most = Math.max(most, inside);
        await pause(4 * EVERY_MS);
        inside -= 1;
        runs += 1;
        return { sent: 0, waiting: 0, failed: 0, unneeded: 0 };
      },
    });
    await until(() => runs === 3);
    expect(most).toBe(1);
  });

  it('logs a run that failed and carries on', async () => {
    let runs = 0;
    run({
      deliverDue: async () => {
        runs += 1;
        if (runs === 1) throw new Error('disk full');
        return { sent: 0, waiting: 0, failed: 0, unneeded: 0 };
      },
    });
    await until(() => runs === 3);
    expect(errors).toEqual(['Messages could not be sent; they stay owed.']);
  });
});
