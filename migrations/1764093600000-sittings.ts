import type { MigrationInterface, QueryRunner } from 'typeorm';

/** Several services in one appointment. Added in place: TypeORM would copy the table, and what refers to it. */
export class Sittings1764093600000 implements MigrationInterface {
  readonly name = 'Sittings1764093600000';

  async up(runner: QueryRunner): Promise<void> {
    await runner.query('ALTER TABLE "appointment" ADD COLUMN "alsoServiceIds" text');
  }

  async down(runner: QueryRunner): Promise<void> {
    await runner.query('ALTER TABLE "appointment" DROP COLUMN "alsoServiceIds"');
  }
}
