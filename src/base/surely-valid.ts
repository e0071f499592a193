import { getMetadataStorage, ValidationTypes } from 'class-validator';

type Metadata = ReturnType<ReturnType<typeof getMetadataStorage>['getTargetValidationMetadatas']>[number];

type Constraint = {
  readonly metadata: Metadata;
  readonly validate: (value: unknown, args: never) => unknown;
};

/** What class-validator would ask of one property, looked up once. */
type PropertyPlan = {
  readonly name: string;
  readonly conditions: readonly Metadata[];
  readonly constraints: readonly Constraint[];
  readonly isNested: boolean;
};

type ClassPlan = { readonly properties: readonly PropertyPlan[]; readonly names: ReadonlySet<string> };

const KNOWN: ReadonlySet<string> = new Set([
  ValidationTypes.CUSTOM_VALIDATION,
  ValidationTypes.CONDITIONAL_VALIDATION,
  ValidationTypes.NESTED_VALIDATION,
  ValidationTypes.WHITELIST,
]);

/** Null for classes that ask for something else than constraints, conditions and nested objects. */
const plans = new Map<object, ClassPlan | null>();

// biome-ignore lint/complexity/noBannedTypes: class-validator's own type for a class
function planOf(type: Function): ClassPlan | null {
  const known = plans.get(type);
  if (known !== undefined) return known;
  const storage = getMetadataStorage();
  const all = storage.getTargetValidationMetadatas(type, '', false, false);
  const properties = Object.entries(storage.groupByPropertyName(all)).map(
    ([name, metadatas]): PropertyPlan => {
      const of = (kind: string) => metadatas.filter((metadata) => metadata.type === kind);
      const constraints = of(ValidationTypes.CUSTOM_VALIDATION).flatMap((metadata) =>
        storage.getTargetValidatorConstraints(metadata.constraintCls).map(({ instance }): Constraint => {
          return { metadata, validate: (value, args) => instance.validate(value, args) };
        }),
      );
      const isNested = of(ValidationTypes.NESTED_VALIDATION).length > 0;
      return { name, conditions: of(ValidationTypes.CONDITIONAL_VALIDATION), constraints, isNested };
    },
  );
  const isUsual = all.length > 0 && all.every(({ type: kind, groups }) => KNOWN.has(kind) && !groups?.length);
  const plan = isUsual ? { properties, names: new Set(properties.map(({ name }) => name)) } : null;
  plans.set(type, plan);
  return plan;
}

/**
 * Whether class-validator would find nothing wrong with `instance`, nor a field its class does not know; false too
 * where only class-validator itself can tell. It looks through all classes and makes an error for every field before it
 * judges one; this asks the same constraints by a plan made once a class, and leaves the words of a refusal to it.
 */
export function isSurelyValid(instance: object): boolean {
  const plan = planOf(instance.constructor);
  if (!plan) return false;
  for (const key of Object.keys(instance)) if (!plan.names.has(key)) return false;
  return plan.properties.every((property) => isPropertyValid(instance, property));
}

function isPropertyValid(
  instance: object,
  { name, conditions, constraints, isNested }: PropertyPlan,
): boolean {
  const value: unknown = instance[name as keyof typeof instance];
  for (const { constraints: asked } of conditions) {
    if (!asked[0](instance, value)) return true;
  }
  for (const constraint of constraints) if (!passes(instance, name, value, constraint)) return false;
  return !isNested || value === undefined || isNestedValid(value);
}

function passes(
  object: object,
  property: string,
  value: unknown,
  { metadata, validate }: Constraint,
): boolean {
  if (metadata.validateIf && !metadata.validateIf(object, value)) return true;
  const args = {
    targetName: object.constructor.name,
    property,
    object,
    value,
    constraints: metadata.constraints,
  } as never;
  if (!metadata.each || !(Array.isArray(value) || value instanceof Set || value instanceof Map)) {
    // Nothing but true: a promise is not settled yet.
    return validate(value, args) === true;
  }
  return Array.isArray(value) && value.every((one) => validate(one, args) === true);
}

function isNestedValid(value: unknown): boolean {
  if (Array.isArray(value)) return value.every((one) => one === undefined || isNestedValid(one));
  if (value instanceof Set || value instanceof Map) return false;
  return value instanceof Object && isSurelyValid(value);
}
