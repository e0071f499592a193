import { Module } from '@nestjs/common';
import { CutsModule } from '../cuts/index.js';
import { SkinTestsModule } from '../skin-tests/index.js';
import { ColourFormulas } from './colour-formulas.js';
import { ColourEffects } from './effects.js';
import { RootBands } from './root-bands.js';

const SERVICES = [ColourEffects, ColourFormulas, RootBands];

@Module({ imports: [CutsModule, SkinTestsModule], providers: SERVICES, exports: SERVICES })
export class ColourModule {}
