import { Module } from '@nestjs/common';
import { ColourGate } from './colour-gate.js';

@Module({ providers: [ColourGate], exports: [ColourGate] })
export class SkinTestsModule {}
