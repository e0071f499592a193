import { Injectable, type OnModuleInit } from '@nestjs/common';
import { ColourEffects } from '../colour/index.js';
import { Windows } from './windows.js';

/** A root band starts anew with every colour, and the window with it. */
@Injectable()
export class FollowColour implements OnModuleInit {
  constructor(
    private readonly effects: ColourEffects,
    private readonly windows: Windows,
  ) {}

  onModuleInit(): void {
    this.effects.register(async (manager, clientId) => {
      await this.windows.refresh(manager, clientId);
    });
  }
}
