import { project } from './jest.mjs';

/** Specs beside the code alone; the project lies where the mutants are made, not where this file was written. */
export default { ...project, rootDir: process.cwd(), testMatch: ['<rootDir>/src/**/*.spec.ts'] };
