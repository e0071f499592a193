import { type DynamicModule, Global, Inject, Module, type OnApplicationShutdown } from '@nestjs/common';
import type { MixedList } from 'typeorm';
import { Clock, SystemClock } from '../base/index.js';
import { Reader } from './reader.js';
import { RequestKeys } from './request-keys.js';
import type { Settings } from './settings.js';
import { Shared, SharedByRedis } from './shared.js';
import { openSources, type Sources } from './sources.js';
import { Turns } from './turns.js';
import { UnitOfWork } from './unit-of-work.js';

const SOURCES = Symbol('sources');
export const SETTINGS = Symbol('settings');

// biome-ignore lint/complexity/noBannedTypes: TypeORM's own type for entity and migration classes
type Classes = MixedList<Function>;

export type StoreOptions = {
  readonly settings: Settings;
  readonly entities: Classes;
  readonly migrations: Classes;
  readonly clock?: Clock;
};

@Global()
@Module({})
export class StoreModule implements OnApplicationShutdown {
  constructor(
    @Inject(SOURCES) private readonly sources: Sources,
    private readonly shared: Shared,
  ) {}

  static with({ settings, entities, migrations, clock }: StoreOptions): DynamicModule {
    return {
      module: StoreModule,
      providers: [
        { provide: SETTINGS, useValue: settings },
        { provide: Clock, useValue: clock ?? new SystemClock() },
        {
          provide: SOURCES,
          useFactory: () =>
            openSources(
              settings.database,
              entities,
              migrations,
              { key: settings.healthKey, keyFile: settings.keyFile },
              settings.pool,
            ),
        },
        {
          provide: UnitOfWork,
          inject: [SOURCES],
          useFactory: ({ writer }: Sources) => new UnitOfWork(writer),
        },
        {
          provide: Shared,
          useFactory: () =>
            settings.redisUrl === undefined ? new Shared() : new SharedByRedis(settings.redisUrl),
        },
        {
          provide: Turns,
          inject: [UnitOfWork, Reader, Clock],
          useFactory: (units: UnitOfWork, reader: Reader, one: Clock) => new Turns(units, reader, one),
        },
        {
          provide: RequestKeys,
          inject: [UnitOfWork, Clock],
          useFactory: (units: UnitOfWork, one: Clock) => new RequestKeys(units, one),
        },
        { provide: Reader, inject: [SOURCES], useFactory: ({ reader }: Sources) => new Reader(reader) },
      ],
      exports: [SETTINGS, Clock, UnitOfWork, Reader, Shared, Turns, RequestKeys],
    };
  }

  async onApplicationShutdown(): Promise<void> {
    await this.shared.close();
    await this.sources.reader.destroy();
    await this.sources.writer.destroy();
  }
}
