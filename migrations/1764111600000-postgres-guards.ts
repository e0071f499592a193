import type { MigrationInterface, QueryRunner } from 'typeorm';

const HELD = [
  ['claim_one_client_a_stylist', 'staffId'],
  ['claim_one_client_a_resource', 'resourceId'],
] as const;

/**
 * PostgreSQL itself refuses to hold a stylist, chair, basin or room twice at one time, whoever writes. SQLite knows no
 * such constraint; there nothing but the unit of work writes.
 */
export class PostgresGuards1764111600000 implements MigrationInterface {
  readonly name = 'PostgresGuards1764111600000';

  async up(runner: QueryRunner): Promise<void> {
    if (runner.connection.options.type !== 'postgres') return;
    await runner.query('CREATE EXTENSION IF NOT EXISTS btree_gist');
    for (const [name, column] of HELD) {
      await runner.query(
        `ALTER TABLE "claim" ADD CONSTRAINT "${name}" EXCLUDE USING gist ` +
          `("${column}" WITH =, int8range("startsAt", "endsAt") WITH &&)`,
      );
    }
  }

  async down(runner: QueryRunner): Promise<void> {
    if (runner.connection.options.type !== 'postgres') return;
    for (const [name] of HELD) await runner.query(`ALTER TABLE "claim" DROP CONSTRAINT "${name}"`);
  }
}
