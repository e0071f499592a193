import type { MigrationInterface, QueryRunner } from 'typeorm';

/** For finding the private links that have run out. */
export class LinksByEnd1764201600003 implements MigrationInterface {
  readonly name = 'LinksByEnd1764201600003';

  async up(runner: QueryRunner): Promise<void> {
    await runner.query('CREATE INDEX "private_link_expires" ON "private_link" ("expiresAt")');
  }

  async down(runner: QueryRunner): Promise<void> {
    await runner.query('DROP INDEX "private_link_expires"');
  }
}
