import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Logger } from '@nestjs/common';
import { Test, type TestingModule } from '@nestjs/testing';
import { MIGRATIONS } from '../../migrations/index.js';
import { FixedClock } from '../../src/base/index.js';
import { Appointment, Book, BookEffects } from '../../src/book/index.js';
import { Clients } from '../../src/clients/index.js';
import { ENTITIES } from '../../src/entities.js';
import { Audit, IdentityModule, SYSTEM } from '../../src/identity/index.js';
import { JobsModule } from '../../src/jobs/index.js';
import { Dispatcher, Messages } from '../../src/reminders/index.js';
import { Salons } from '../../src/salon/index.js';
import { Reader, readSettings, StoreModule, UnitOfWork } from '../../src/store/index.js';
import { CLIENT_INPUT } from '../factories/clients.js';
import { makeSalon, type TestSalon } from '../factories/salon.js';

describe('the book and its messages, wired as in the program', () => {
  let folder: string;
  let app: TestingModule;
  let house: TestSalon;
  let clientId: string;
  let clock: FixedClock;

  beforeEach(async () => {
    Logger.overrideLogger(false);
    folder = await mkdtemp(join(tmpdir(), 'halfinch-book-messages-'));
    clock = new FixedClock(Date.parse('2026-06-01T08:00:00Z'));
    const settings = readSettings({ HALFINCH_DATA: folder, DISPATCH_EVERY_MS: '3600000' });
    app = await Test.createTestingModule({
      imports: [
        StoreModule.with({ settings, entities: ENTITIES, migrations: MIGRATIONS, clock }),
        IdentityModule,
        JobsModule,
      ],
    }).compile();
    await app.init();
    house = await makeSalon({ salons: app.get(Salons, { strict: false }) });
    const clients = new Clients(app.get(UnitOfWork), app.get(Reader), clock, app.get(Audit));
    const { client } = await clients.add(
      { ...CLIENT_INPUT, salonId: house.salon.id, email: 'ottilie@example.org' },
      SYSTEM,
    );
    clientId = client.id;
  });
  afterEach(async () => {
    await app.close();
    await rm(folder, { recursive: true });
  });

  const book = () => app.get(Book, { strict: false });
  const booking = (time: string) =>
    book().book(
      { clientId, staffId: house.mara.id, serviceId: house.fullCut.id, date: '2026-06-18', time },
      SYSTEM,
    );
  const told = async () => {
    const lines = await app.get(Messages, { strict: false }).list({ salonId: house.salon.id });
    return lines.map(({ kind, state }) => `${kind.replace('appointment-', '')} ${state}`).reverse();
  };

  it('booking, moving and cancelling owe and call back', async () => {
    const { id } = await booking('14:30');
    expect(await told()).toEqual(['confirmation owed', 'reminder owed']);

    await book().move(id, { minutes: 60 }, SYSTEM);
    expect(await told()).toEqual(['confirmation owed', 'reminder owed']);

    await book().move(id, { date: '2026-06-19', time: '10:00' }, SYSTEM);
    expect(await told()).toEqual([
      'confirmation withdrawn',
      'reminder withdrawn',
      'change owed',
      'reminder owed',
    ]);

    await book().cancel(id, {}, SYSTEM);
    expect((await told()).slice(2)).toEqual(['change withdrawn', 'reminder withdrawn', 'cancellation owed']);
  });

  it('a booking that something later in its transaction refuses leaves neither appointment nor message', async () => {
    app.get(BookEffects, { strict: false }).register({
      booked: () => Promise.reject(new Error('refused further on')),
    });
    await expect(booking('14:30')).rejects.toThrow('refused further on');
    expect(await told()).toEqual([]);
    expect(await app.get(Reader).manager.count(Appointment)).toBe(0);
  });

  it('a no-show is not reminded, and what is owed goes to the outbox folder without a mail server', async () => {
    const { id } = await booking('14:30');
    const dispatcher = app.get(Dispatcher, { strict: false });
    expect(dispatcher.sendsBy).toBe('outbox');
    expect(await dispatcher.deliverDue()).toMatchObject({ sent: 1 });
    expect(await readdir(join(folder, 'outbox'))).toHaveLength(1);

    clock.at = Date.parse('2026-06-18T14:00:00Z');
    await book().noShow(id, SYSTEM);
    expect(await told()).toEqual(['confirmation sent', 'reminder withdrawn']);
  });
});
