import type { MigrationInterface, QueryRunner } from 'typeorm';

/** For whoever asks what has changed since then. */
export class AuditByKind1764201600010 implements MigrationInterface {
  readonly name = 'AuditByKind1764201600010';

  async up(runner: QueryRunner): Promise<void> {
    await runner.query('CREATE INDEX "audit_by_kind" ON "audit_entry" ("subjectKind", "at")');
  }

  async down(runner: QueryRunner): Promise<void> {
    await runner.query('DROP INDEX "audit_by_kind"');
  }
}
