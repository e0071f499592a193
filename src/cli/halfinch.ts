#!/usr/bin/env node
import 'reflect-metadata';
import { operate } from './program.js';

process.exitCode = await operate(process.argv.slice(2));
