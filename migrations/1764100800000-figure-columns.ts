import { type MigrationInterface, type QueryRunner, TableIndex } from 'typeorm';
import { index } from './schema.js';

/*
 * What figures ask of every visit, kept beside it rather than looked up visit by visit each time: the client's next and
 * first day, and the name of the shape. The database keeps them itself, so that whatever writes visits (the record, an
 * import, a merge of two clients) cannot forget to. Whoever copies the table must make the triggers anew.
 */
const ADDED = [
  ['nextOn', 'varchar(10)'],
  ['firstOn', 'varchar(10)'],
  ['shape', 'varchar(120)'],
] as const;

const nextOn = (of: string) =>
  `(SELECT MIN(n."visitOn") FROM visit n WHERE n."clientId" = ${of}."clientId" AND n."visitOn" > ${of}."visitOn")`;
const firstOn = (of: string) =>
  `(SELECT MIN(f."visitOn") FROM visit f WHERE f."clientId" = ${of}."clientId")`;
const shape = (of: string) => `(SELECT c.name FROM cut_formula c WHERE c.id = ${of}."formulaId")`;

/** A visit NEW has come to be. */
const CAME = `
  UPDATE visit SET "nextOn" = ${nextOn('NEW')}, "firstOn" = ${firstOn('NEW')}, shape = ${shape('NEW')} WHERE id = NEW.id;
  UPDATE visit SET "nextOn" = NEW."visitOn" WHERE "clientId" = NEW."clientId" AND "visitOn" < NEW."visitOn"
    AND ("nextOn" IS NULL OR "nextOn" > NEW."visitOn");
  UPDATE visit SET "firstOn" = NEW."visitOn" WHERE "clientId" = NEW."clientId" AND "firstOn" > NEW."visitOn";`;

/** A visit OLD is no more. */
const WENT = `
  UPDATE visit SET "nextOn" = ${nextOn('visit')} WHERE "clientId" = OLD."clientId" AND "nextOn" = OLD."visitOn";
  UPDATE visit SET "firstOn" = ${firstOn('visit')} WHERE "clientId" = OLD."clientId" AND "firstOn" = OLD."visitOn";`;

const RESHAPED = `UPDATE visit SET shape = ${shape('NEW')} WHERE id = NEW.id;`;
const RENAMED = 'UPDATE visit SET shape = NEW.name WHERE "formulaId" = NEW.id;';

type Trigger = { readonly name: string; readonly on: string; readonly does: string };

const TRIGGERS: readonly Trigger[] = [
  { name: 'visit_came', on: 'INSERT ON visit', does: CAME },
  { name: 'visit_went', on: 'DELETE ON visit', does: WENT },
  { name: 'visit_moved', on: 'UPDATE OF "clientId", "visitOn" ON visit', does: WENT + CAME },
  { name: 'visit_reshaped', on: 'UPDATE OF "formulaId" ON visit', does: RESHAPED },
  { name: 'cut_formula_renamed', on: 'UPDATE OF name ON cut_formula', does: RENAMED },
];

async function makeTrigger(runner: QueryRunner, { name, on, does }: Trigger): Promise<void> {
  if (runner.connection.options.type !== 'postgres') {
    await runner.query(`CREATE TRIGGER ${name} AFTER ${on} BEGIN ${does} END`);
    return;
  }
  await runner.query(
    `CREATE FUNCTION ${name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN ${does} RETURN NULL; END $$`,
  );
  await runner.query(`CREATE TRIGGER ${name} AFTER ${on} FOR EACH ROW EXECUTE FUNCTION ${name}()`);
}

async function dropTrigger(runner: QueryRunner, { name, on }: Trigger): Promise<void> {
  if (runner.connection.options.type !== 'postgres') {
    await runner.query(`DROP TRIGGER ${name}`);
    return;
  }
  await runner.query(`DROP TRIGGER ${name} ON ${on.split(' ').at(-1)}`);
  await runner.query(`DROP FUNCTION ${name}()`);
}

type Wide = { readonly table: string; readonly name: string; readonly columns: readonly string[] };

/** What figures look up of a client's visits; it no longer holds what they now read as it lies. */
const VISITS = { table: 'visit', name: 'visit_figures' };
const VISITS_WERE: Wide = {
  ...VISITS,
  columns: [
    'clientId',
    'visitOn',
    'closedAt',
    'salonId',
    'staffId',
    'serviceId',
    'formulaId',
    'dayEndsAt',
    'priceMinor',
    'suggestedEarliestOn',
    'suggestedDueOn',
    'suggestedLatestOn',
  ],
};
const VISITS_ARE: Wide = {
  ...VISITS,
  columns: [
    'clientId',
    'visitOn',
    'closedAt',
    'salonId',
    'staffId',
    'serviceId',
    'dayEndsAt',
    'suggestedDueOn',
    'suggestedLatestOn',
    'nextOn',
    'firstOn',
    'shape',
  ],
};

/** All that figures count by of a visit, day by day. */
const DAYS: Wide = {
  table: 'visit',
  name: 'visit_days',
  columns: [
    'salonId',
    'visitOn',
    'clientId',
    'staffId',
    'serviceId',
    'nextOn',
    'firstOn',
    'suggestedDueOn',
    'suggestedLatestOn',
    'priceMinor',
    'shape',
  ],
};

/** By the day first: visits in the order of time find their next day's measurements close together. */
const MEASURED = { table: 'measurement', name: 'measurement_figures' };
const MEASURED_WERE: Wide = { ...MEASURED, columns: ['clientId', 'measuredOn', 'zone', 'id', 'lengthMm'] };
const MEASURED_ARE: Wide = { ...MEASURED, columns: ['measuredOn', 'clientId', 'zone', 'id', 'lengthMm'] };

const NAMES: Wide = { table: 'cut_formula', name: 'formula_names', columns: ['id', 'name'] };

const make = (runner: QueryRunner, { table, name, columns }: Wide) =>
  runner.createIndex(table, new TableIndex({ name, columnNames: [...columns] }));
const drop = (runner: QueryRunner, { table, name }: Wide) => runner.dropIndex(table, name);

/** Each visit keeps the client's next day, her first day and its shape's name. */
export class FigureColumns1764100800000 implements MigrationInterface {
  readonly name = 'FigureColumns1764100800000';

  async up(runner: QueryRunner): Promise<void> {
    for (const [column, type] of ADDED)
      await runner.query(`ALTER TABLE visit ADD COLUMN "${column}" ${type}`);
    await runner.query(
      `UPDATE visit SET "nextOn" = ${nextOn('visit')}, "firstOn" = ${firstOn('visit')}, shape = ${shape('visit')}`,
    );
    await drop(runner, VISITS_WERE);
    await make(runner, VISITS_ARE);
    await make(runner, DAYS);
    await runner.dropIndex('visit', index(['salonId', 'visitOn']));
    await runner.createIndex('visit', index(['formulaId']));
    await drop(runner, MEASURED_WERE);
    await make(runner, MEASURED_ARE);
    await runner.createIndex('measurement', index(['clientId', 'measuredOn']));
    await drop(runner, NAMES);
    for (const trigger of TRIGGERS) await makeTrigger(runner, trigger);
  }

  async down(runner: QueryRunner): Promise<void> {
    for (const trigger of TRIGGERS) await dropTrigger(runner, trigger);
    await make(runner, NAMES);
    await runner.dropIndex('measurement', index(['clientId', 'measuredOn']));
    await drop(runner, MEASURED_ARE);
    await make(runner, MEASURED_WERE);
    await runner.dropIndex('visit', index(['formulaId']));
    await runner.createIndex('visit', index(['salonId', 'visitOn']));
    await drop(runner, DAYS);
    await drop(runner, VISITS_ARE);
    for (const [column] of [...ADDED].reverse()) {
      await runner.query(`ALTER TABLE visit DROP COLUMN "${column}"`);
    }
    await make(runner, VISITS_WERE);
  }
}
