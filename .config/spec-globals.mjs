/** What `@jest/globals` gives, each time from the spec that runs just now: whoever imports it is loaded once for all. */
const ofRunningSpec = (name) =>
  new Proxy(() => undefined, {
    apply: (_, __, args) => current(name)(...args),
    get: (_, key) => current(name)[key],
  });

function current(name) {
  const specs = globalThis[Symbol.for('halfinch.specs')];
  if (!specs) throw new Error('No spec is running.');
  return specs[name];
}

export const afterAll = ofRunningSpec('afterAll');
export const afterEach = ofRunningSpec('afterEach');
export const beforeAll = ofRunningSpec('beforeAll');
export const beforeEach = ofRunningSpec('beforeEach');
export const describe = ofRunningSpec('describe');
export const expect = ofRunningSpec('expect');
export const it = ofRunningSpec('it');
export const jest = ofRunningSpec('jest');
export const test = ofRunningSpec('test');
