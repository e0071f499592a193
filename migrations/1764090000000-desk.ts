import type { MigrationInterface, QueryRunner } from 'typeorm';

/** Written as both databases understand it; null stands for how everything was before. */
const ADDED = ['arrivedAt', 'seatedAt'] as const;

/** When a client came to the desk and when she sat down. */
export class Desk1764090000000 implements MigrationInterface {
  readonly name = 'Desk1764090000000';

  async up(runner: QueryRunner): Promise<void> {
    for (const column of ADDED) await runner.query(`ALTER TABLE "appointment" ADD COLUMN "${column}" bigint`);
  }

  async down(runner: QueryRunner): Promise<void> {
    for (const column of [...ADDED].reverse()) {
      await runner.query(`ALTER TABLE "appointment" DROP COLUMN "${column}"`);
    }
  }
}
