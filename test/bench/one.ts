import 'reflect-metadata';
import { SUITES } from './suites.js';

/** Runs one suite in a process of its own, on the store that the environment says, and sends its rows to the parent. */
const [name = '', size] = process.argv.slice(2);
const rows = await SUITES[name]?.run({ quick: size === 'quick' });
process.send?.(rows, () => process.exit(0));
