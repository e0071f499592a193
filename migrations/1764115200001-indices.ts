import type { MigrationInterface, QueryRunner } from 'typeorm';

const INDICES = [
  ['audit_of_subject', 'audit_entry', ['subjectId', 'number']],
  ['audit_by_account', 'audit_entry', ['accountId', 'number']],
  ['skin_test_applied', 'skin_test', ['appliedAt']],
] as const;

/** For what is asked every day and looked through a table that grows. */
export class Indices1764115200001 implements MigrationInterface {
  readonly name = 'Indices1764115200001';

  async up(runner: QueryRunner): Promise<void> {
    for (const [name, table, columns] of INDICES) {
      const list = columns.map((column) => `"${column}"`).join(', ');
      await runner.query(`CREATE INDEX "${name}" ON "${table}" (${list})`);
    }
  }

  async down(runner: QueryRunner): Promise<void> {
    for (const [name] of INDICES) await runner.query(`DROP INDEX "${name}"`);
  }
}
