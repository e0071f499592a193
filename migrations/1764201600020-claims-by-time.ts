import type { MigrationInterface, QueryRunner } from 'typeorm';
import { index } from './schema.js';

const HOLDERS = ['staffId', 'resourceId'] as const;

/** The time that somebody or something was held is summed from the index alone. */
export class ClaimsByTime1764201600020 implements MigrationInterface {
  readonly name = 'ClaimsByTime1764201600020';

  async up(runner: QueryRunner): Promise<void> {
    for (const holder of HOLDERS) {
      await runner.createIndex('claim', index([holder, 'startsAt', 'endsAt']));
      await runner.dropIndex('claim', index([holder, 'startsAt']));
    }
  }

  async down(runner: QueryRunner): Promise<void> {
    for (const holder of HOLDERS) {
      await runner.createIndex('claim', index([holder, 'startsAt']));
      await runner.dropIndex('claim', index([holder, 'startsAt', 'endsAt']));
    }
  }
}
