import { Module } from '@nestjs/common';
import { ColourGate } from './colour-gate.js';
import { SafetyRecords } from './safety-records.js';
import { SkinTests } from './skin-tests.js';

@Module({
  providers: [ColourGate, SafetyRecords, SkinTests],
  exports: [ColourGate, SafetyRecords, SkinTests],
})
export class SkinTestsModule {}
