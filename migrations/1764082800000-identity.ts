import { createHash } from 'node:crypto';
import type { MigrationInterface, QueryRunner } from 'typeorm';
import {
  createTables,
  dropTables,
  id,
  index,
  instant,
  link,
  ref,
  type TableText,
  text,
  whole,
  words,
} from './schema.js';

const TABLES: readonly TableText[] = [
  {
    name: 'api_token',
    columns: [
      id(),
      text('tokenHash', 64),
      ref('accountId'),
      text('name', 80),
      words('scopes'),
      instant('madeAt'),
      instant('expiresAt'),
      instant('endedAt', { nullable: true }),
    ],
    links: [link('accountId', 'account', 'CASCADE')],
    indices: [index(['tokenHash'], true), index(['accountId'])],
  },
  {
    name: 'password_link',
    columns: [
      id(),
      text('tokenHash', 64),
      ref('accountId'),
      instant('madeAt'),
      instant('expiresAt'),
      instant('usedAt', { nullable: true }),
    ],
    links: [link('accountId', 'account', 'CASCADE')],
    indices: [index(['tokenHash'], true), index(['accountId'])],
  },
  {
    name: 'retention_rule',
    columns: [id(), whole('version'), ref('salonId'), text('kind', 20), whole('months')],
    links: [link('salonId', 'salon', 'CASCADE')],
    indices: [index(['salonId', 'kind'], true)],
  },
];

/** Written as both databases understand it: TypeORM would copy the whole table on SQLite, losing what refers to it. */
const ADDED = [
  ['account', 'totpSecret', 'text'],
  ['account', 'totpStep', 'bigint'],
  ['account', 'pinHash', 'varchar(255)'],
  ['session', 'kind', "varchar(10) NOT NULL DEFAULT ('api')"],
  ['session', 'lastSeenAt', 'bigint'],
  ['session', 'address', 'text'],
  ['session', 'agent', 'varchar(200)'],
  ['session', 'deskId', 'varchar(36)'],
  ['client', 'erasedAt', 'bigint'],
] as const;

const OLD_AUDIT_COLUMNS = [
  id(),
  instant('at'),
  ref('accountId', { nullable: true }),
  text('action', 60),
  text('subjectKind', 30),
  ref('subjectId', { nullable: true }),
  words('details', { nullable: true }),
  words('address', { nullable: true }),
];

const OLD_AUDIT: TableText = {
  name: 'audit_entry',
  columns: OLD_AUDIT_COLUMNS,
  links: [],
  indices: [index(['subjectKind', 'subjectId'])],
};

const CHAINED_AUDIT: TableText = {
  name: 'audit_entry',
  columns: [...OLD_AUDIT_COLUMNS, whole('number'), text('role', 10), text('hash', 64)],
  links: [],
  indices: [index(['subjectKind', 'subjectId']), index(['number'], true)],
};

type OldEntry = Record<
  'id' | 'at' | 'accountId' | 'action' | 'subjectKind' | 'subjectId' | 'details' | 'address',
  string | number | null
>;

/** As src/identity/audit-chain.ts had it when this was written. */
function hashOf(previous: string, number: number, role: string, entry: OldEntry): string {
  const { id, at, accountId, action, subjectKind, subjectId, details, address } = entry;
  const fields = [number, id, Number(at), accountId, role, action, subjectKind, subjectId, details, address];
  return createHash('sha256')
    .update(JSON.stringify([previous, ...fields]))
    .digest('hex');
}

const REFUSAL = 'The audit trail is append-only.';

/** The database itself refuses to change or remove an entry. */
async function guardAudit(runner: QueryRunner): Promise<void> {
  if (runner.connection.options.type === 'postgres') {
    await runner.query(
      `CREATE FUNCTION refuse_audit_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '${REFUSAL}'; END $$`,
    );
    await runner.query(
      'CREATE TRIGGER audit_entry_append_only BEFORE UPDATE OR DELETE ON "audit_entry" FOR EACH ROW EXECUTE FUNCTION refuse_audit_change()',
    );
    await runner.query(
      'CREATE TRIGGER audit_entry_no_truncate BEFORE TRUNCATE ON "audit_entry" FOR EACH STATEMENT EXECUTE FUNCTION refuse_audit_change()',
    );
    return;
  }
  for (const act of ['UPDATE', 'DELETE']) {
    await runner.query(
      `CREATE TRIGGER audit_entry_no_${act.toLowerCase()} BEFORE ${act} ON "audit_entry" BEGIN SELECT RAISE(ABORT, '${REFUSAL}'); END`,
    );
  }
}

async function unguardAudit(runner: QueryRunner): Promise<void> {
  if (runner.connection.options.type === 'postgres') {
    await runner.query('DROP TRIGGER audit_entry_append_only ON "audit_entry"');
    await runner.query('DROP TRIGGER audit_entry_no_truncate ON "audit_entry"');
    await runner.query('DROP FUNCTION refuse_audit_change()');
    return;
  }
  await runner.query('DROP TRIGGER audit_entry_no_update');
  await runner.query('DROP TRIGGER audit_entry_no_delete');
}

/** In plain SQL: the entities of today are not those of this migration, and would write the details anew. */
async function insertEntry(runner: QueryRunner, entry: object): Promise<void> {
  const isPostgres = runner.connection.options.type === 'postgres';
  const columns = Object.keys(entry);
  const places = columns.map((_, i) => (isPostgres ? `$${i + 1}` : '?'));
  await runner.query(
    `INSERT INTO "audit_entry" (${columns.map((name) => `"${name}"`).join(', ')}) VALUES (${places.join(', ')})`,
    Object.values(entry),
  );
}

/** Sign-in by codes and PINs, API tokens, password links, the chained audit trail, retention rules. */
export class Identity1764082800000 implements MigrationInterface {
  async up(runner: QueryRunner): Promise<void> {
    for (const [table, column, type] of ADDED) {
      await runner.query(`ALTER TABLE "${table}" ADD COLUMN "${column}" ${type}`);
    }
    await createTables(runner, TABLES);

    const entries: OldEntry[] = await runner.query('SELECT * FROM "audit_entry" ORDER BY "at", "id"');
    await runner.dropTable('audit_entry');
    await createTables(runner, [CHAINED_AUDIT]);
    let previous = '';
    for (const [i, entry] of entries.entries()) {
      const role = 'unknown';
      previous = hashOf(previous, i + 1, role, entry);
      await insertEntry(runner, { ...entry, number: i + 1, role, hash: previous });
    }
    await guardAudit(runner);
  }

  async down(runner: QueryRunner): Promise<void> {
    await unguardAudit(runner);
    const entries: OldEntry[] = await runner.query(
      `SELECT ${OLD_AUDIT_COLUMNS.map(({ name }) => `"${name}"`).join(', ')} FROM "audit_entry"`,
    );
    await runner.dropTable('audit_entry');
    await createTables(runner, [OLD_AUDIT]);
    for (const entry of entries) await insertEntry(runner, entry);

    await dropTables(runner, TABLES);
    for (const [table, column] of [...ADDED].reverse()) {
      await runner.query(`ALTER TABLE "${table}" DROP COLUMN "${column}"`);
    }
  }
}
