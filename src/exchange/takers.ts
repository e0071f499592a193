import { Injectable } from '@nestjs/common';
import type { ImportKind } from './kinds.js';
import { TakeAppointments } from './take-appointments.js';
import { TakeClients } from './take-clients.js';
import { TakeLengths } from './take-lengths.js';
import { TakeSkinTests } from './take-skin-tests.js';
import { TakeVisits } from './take-visits.js';
import type { Taker } from './taking.js';

/** Who takes which kind of sheet. */
@Injectable()
export class Takers {
  private readonly all: Readonly<Record<ImportKind, Taker>>;

  constructor(
    clients: TakeClients,
    visits: TakeVisits,
    lengths: TakeLengths,
    skinTests: TakeSkinTests,
    appointments: TakeAppointments,
  ) {
    this.all = { clients, visits, lengths, 'skin-tests': skinTests, appointments };
  }

  of(kind: ImportKind): Taker {
    return this.all[kind];
  }
}
