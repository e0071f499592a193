// The one-way rule: engine <- store <- domain rooms, in order <- web, api, jobs. See DEVELOPERS.md, "Rooms".
const order = [
  'identity',
  'salon',
  'clients',
  'skin-tests',
  'cuts',
  'consultations',
  'photos',
  'colour',
  'book',
  'rebooking',
  'reminders',
  'webhooks',
  'privacy',
  'reports',
  'exchange',
  'keep',
];
const edges = ['web', 'api', 'jobs'];
const room = (name) => `^src/${name}/`;
const any = (names) => `^src/(${names.join('|')})/`;

module.exports = {
  forbidden: [
    { name: 'no-circle', severity: 'error', from: {}, to: { circular: true } },
    {
      name: 'engine-knows-nobody',
      severity: 'error',
      from: { path: '^src/engine/', pathNot: '\\.spec\\.ts$' },
      // Calendar arithmetic is the one thing it borrows.
      to: { pathNot: ['^src/engine/', 'node_modules/temporal-polyfill/'] },
    },
    {
      name: 'base-knows-nobody',
      severity: 'error',
      from: { path: '^src/base/', pathNot: '\\.spec\\.ts$' },
      to: { path: ['^src/store/', '^src/http/', any([...order, ...edges])] },
    },
    {
      name: 'store-knows-no-room',
      severity: 'error',
      from: { path: '^src/store/', pathNot: '\\.spec\\.ts$' },
      to: { path: any([...order, ...edges]) },
    },
    ...order.map((name, i) => ({
      name: `${name}-looks-back-only`,
      severity: 'error',
      from: { path: room(name) },
      to: { path: any([...order.slice(i + 1), ...edges]) },
    })),
    ...order.map((name) => ({
      name: `${name}-through-its-index`,
      severity: 'error',
      from: { path: '^src/', pathNot: room(name) },
      to: { path: room(name), pathNot: `^src/${name}/index\\.ts$` },
    })),
    ...edges.map((name) => ({
      name: `${name}-stands-alone`,
      severity: 'error',
      from: { path: room(name) },
      to: { path: any(edges.filter((other) => other !== name)) },
    })),
    {
      name: 'no-test-code-in-product',
      severity: 'error',
      from: { path: '^(src|migrations|seed)/', pathNot: '\\.spec\\.ts$' },
      to: { path: ['^test/', '\\.spec\\.ts$'] },
    },
    {
      name: 'no-dev-dependency-in-product',
      severity: 'error',
      from: { path: '^(src|migrations|seed)/', pathNot: '\\.spec\\.ts$' },
      to: { dependencyTypes: ['npm-dev'], dependencyTypesNot: ['npm', 'type-only'] },
    },
  ],
  options: {
    parser: 'swc',
    doNotFollow: { path: 'node_modules' },
    exclude: { path: ['^dist/', '^src/web/browser/'] },
    enhancedResolveOptions: {
      extensions: ['.ts', '.js', '.json'],
      exportsFields: ['exports'],
      conditionNames: ['import', 'node', 'default'],
    },
  },
};
