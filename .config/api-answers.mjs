/*
 * What the routes of the API answer, as JSON Schema, taken from the types of their handlers: `npm run answers` writes
 * templates/api-answers.json. TypeScript 7 has no programming interface, so its predecessor is asked.
 */
import { readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript5';

const root = fileURLToPath(new URL('..', import.meta.url));
export const ANSWERS_FILE = join(root, 'templates/api-answers.json');
const ROUTE = /^(Get|Post|Put|Patch|Delete)$/;
const { TypeFlags } = ts;

function programOf(files) {
  const { config } = ts.readConfigFile(join(root, 'tsconfig.json'), ts.sys.readFile);
  const { options } = ts.convertCompilerOptionsFromJson(config.compilerOptions, root);
  return ts.createProgram(files, {
    ...options,
    noEmit: true,
    incremental: false,
    tsBuildInfoFile: undefined,
  });
}

/** Turns types into schemas of what JSON.stringify makes of their values. */
class Schemas {
  definitions = {};
  #names = new Map();
  #taken = new Set();

  constructor(checker) {
    this.checker = checker;
  }

  of(type) {
    const { flags } = type;
    if (flags & (TypeFlags.Any | TypeFlags.Unknown)) return {};
    if (flags & TypeFlags.Null) return { type: 'null' };
    if (type.isUnion()) return this.#union(type);
    if (type.isStringLiteral() || type.isNumberLiteral()) return { const: type.value };
    if (flags & TypeFlags.BooleanLiteral) return { const: this.checker.typeToString(type) === 'true' };
    if (flags & TypeFlags.StringLike) return { type: 'string' };
    if (flags & TypeFlags.NumberLike) return { type: 'number' };
    if (flags & TypeFlags.BooleanLike) return { type: 'boolean' };
    if (this.checker.isTupleType(type)) return this.#tuple(type);
    if (this.checker.isArrayType(type)) {
      return { type: 'array', items: this.of(this.checker.getTypeArguments(type)[0]) };
    }
    if (flags & (TypeFlags.Object | TypeFlags.Intersection | TypeFlags.NonPrimitive))
      return this.#named(type);
    throw new Error(`What JSON makes of ${this.checker.typeToString(type)} is not known here.`);
  }

  #union(type) {
    const parts = type.types.filter((part) => !(part.flags & TypeFlags.Undefined));
    const isNullable = parts.some((part) => part.flags & TypeFlags.Null);
    const rest = parts.filter((part) => !(part.flags & TypeFlags.Null));
    const isLiteral = (part) => part.isStringLiteral() || part.isNumberLiteral();
    const options = [];
    const literals = rest.filter(isLiteral);
    if (literals.length > 0) options.push({ enum: literals.map((part) => part.value) });
    const booleans = rest.filter((part) => part.flags & TypeFlags.BooleanLiteral);
    if (booleans.length === 2) options.push({ type: 'boolean' });
    else options.push(...booleans.map((part) => this.of(part)));
    const others = rest.filter((part) => !isLiteral(part) && !(part.flags & TypeFlags.BooleanLiteral));
    options.push(...others.map((part) => this.of(part)));
    if (isNullable) {
      const [only] = options;
      if (options.length === 1 && typeof only.type === 'string' && Object.keys(only).length === 1) {
        return { type: [only.type, 'null'] };
      }
      options.push({ type: 'null' });
    }
    return options.length === 1 ? options[0] : { anyOf: options };
  }

  #tuple(type) {
    const items = this.checker.getTypeArguments(type).map((part) => this.of(part));
    return { type: 'array', prefixItems: items, minItems: items.length, maxItems: items.length };
  }

  /** Types with a name of their own become components; others are written where they stand. */
  #named(type) {
    const symbol = type.aliasSymbol ?? type.getSymbol();
    const isGeneric = (type.aliasTypeArguments ?? type.typeArguments ?? []).length > 0;
    const name = symbol?.getName() ?? '';
    if (isGeneric || !/^[A-Z]\w*$/.test(name)) return this.#object(type);
    if (!this.#names.has(type)) {
      let free = name;
      for (let i = 2; this.#taken.has(free); i += 1) free = `${name}${i}`;
      this.#taken.add(free);
      this.#names.set(type, free);
      this.definitions[free] = this.#object(type);
    }
    return { $ref: `#/components/schemas/${this.#names.get(type)}` };
  }

  #object(type) {
    const properties = {};
    const required = [];
    for (const property of this.checker.getPropertiesOfType(type)) {
      const kind = this.checker.getTypeOfSymbol(property);
      if (kind.getCallSignatures().length > 0 || kind.flags & (TypeFlags.Undefined | TypeFlags.Void))
        continue;
      properties[property.getName()] = this.of(kind);
      const mayLack =
        property.flags & ts.SymbolFlags.Optional ||
        (kind.isUnion() && kind.types.some((part) => part.flags & TypeFlags.Undefined));
      if (!mayLack) required.push(property.getName());
    }

    const [map] = this.checker.getIndexInfosOfType(type);
    return {
      type: 'object',
      ...(Object.keys(properties).length > 0 && { properties }),
      ...(required.length > 0 && { required: required.sort() }),
      ...(map && { additionalProperties: this.of(map.type) }),
    };
  }
}

function isRoute(member) {
  return (
    ts.isMethodDeclaration(member) &&
    (ts.getDecorators(member) ?? []).some(
      ({ expression }) => ts.isCallExpression(expression) && ROUTE.test(expression.expression.getText()),
    )
  );
}

/** `{answers: {BookController_day: schema}, definitions}`; routes that answer with nothing, or with no JSON, are left out. */
export function apiAnswers() {
  const folder = join(root, 'src/api');
  const files = readdirSync(folder).filter((name) => name.endsWith('.controller.ts'));
  const program = programOf(files.map((name) => join(folder, name)));
  const checker = program.getTypeChecker();
  const schemas = new Schemas(checker);
  const answers = {};
  for (const name of files) {
    for (const statement of program.getSourceFile(join(folder, name)).statements) {
      if (!ts.isClassDeclaration(statement)) continue;
      for (const member of statement.members.filter(isRoute)) {
        const [signature] = checker.getTypeAtLocation(member.name).getCallSignatures();
        const returned = checker.getReturnTypeOfSignature(signature);
        const type = checker.getAwaitedType(returned) ?? returned;
        if (type.flags & (TypeFlags.Void | TypeFlags.Undefined)) continue;
        answers[`${statement.name.text}_${member.name.getText()}`] = schemas.of(type);
      }
    }
  }
  const sorted = (record) => Object.fromEntries(Object.entries(record).sort(([a], [b]) => (a < b ? -1 : 1)));
  return `${JSON.stringify({ answers: sorted(answers), definitions: sorted(schemas.definitions) }, null, 1)}\n`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) writeFileSync(ANSWERS_FILE, apiAnswers());
