import { type MigrationInterface, type QueryRunner, Table } from 'typeorm';

/** Work that comes round is shared out among processes by a row each. */
export class Turns1764115200000 implements MigrationInterface {
  readonly name = 'Turns1764115200000';

  async up(runner: QueryRunner): Promise<void> {
    await runner.createTable(
      new Table({
        name: 'turn',
        columns: [
          { name: 'name', type: 'varchar', length: '40', isPrimary: true },
          { name: 'takenAt', type: 'bigint' },
        ],
      }),
    );
  }

  async down(runner: QueryRunner): Promise<void> {
    await runner.dropTable('turn');
  }
}
