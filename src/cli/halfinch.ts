#!/usr/bin/env node
import 'reflect-metadata';
import { CommanderError } from 'commander';
import { operatorProgram } from './program.js';

const USAGE_ERROR = 2;

try {
  await operatorProgram().parseAsync(process.argv);
} catch (error) {
  if (error instanceof CommanderError) {
    // Help and version end with 0; whatever else the parser says is about the command line.
    process.exitCode = error.exitCode === 0 ? 0 : USAGE_ERROR;
  } else {
    console.error(error instanceof Error ? error.message : error);
    process.exitCode = 1;
  }
}
