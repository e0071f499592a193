/** How the specs' TypeScript becomes what Node runs. */
export const SWC = {
  swcrc: false,
  jsc: {
    target: 'es2022',
    parser: { syntax: 'typescript', decorators: true },
    transform: { legacyDecorator: true, decoratorMetadata: true, useDefineForClassFields: false },
    keepClassNames: true,
  },
  module: { type: 'es6' },
  sourceMaps: 'inline',
};
