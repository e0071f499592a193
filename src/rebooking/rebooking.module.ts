import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { CutsModule } from '../cuts/index.js';
import { Checkout } from './checkout.js';
import { DueList } from './due-list.js';
import { HoldMarks } from './hold-marks.js';
import { Reshapes } from './reshapes.js';
import { TidyPlans } from './tidy-plans.js';
import { Windows } from './windows.js';

const SERVICES = [Windows, HoldMarks, TidyPlans, Reshapes, DueList, Checkout];

@Module({ imports: [CutsModule, BookModule], providers: SERVICES, exports: SERVICES })
export class RebookingModule {}
