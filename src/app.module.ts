import { type DynamicModule, Module } from '@nestjs/common';
import { APP_GUARD, APP_INTERCEPTOR } from '@nestjs/core';
import { MIGRATIONS } from '../migrations/index.js';
import { ApiModule } from './api/index.js';
import type { Clock } from './base/index.js';
import { ENTITIES } from './entities.js';
import { AccessGuard, HealthController, IdempotencyInterceptor, VersionInterceptor } from './http/index.js';
import { IdentityModule } from './identity/index.js';
import { JobsModule } from './jobs/index.js';
import { type Settings, StoreModule } from './store/index.js';
import { WebModule } from './web/index.js';

@Module({})
export class AppModule {
  /** Everything wired together; tests pass a clock of their own. */
  static with(settings: Settings, clock?: Clock): DynamicModule {
    return {
      module: AppModule,
      imports: [
        StoreModule.with({ settings, entities: ENTITIES, migrations: MIGRATIONS, ...(clock && { clock }) }),
        IdentityModule,
        WebModule,
        ApiModule,
        JobsModule,
      ],
      controllers: [HealthController],
      providers: [
        { provide: APP_GUARD, useClass: AccessGuard },
        { provide: APP_INTERCEPTOR, useClass: IdempotencyInterceptor },
        { provide: APP_INTERCEPTOR, useClass: VersionInterceptor },
      ],
    };
  }
}
