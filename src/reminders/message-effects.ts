import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import type { Message } from './entities.js';

/** What a later room does in the same transaction; when it throws, nothing has changed. */
export type MessageEffect = {
  /** The message was given up: it is the desk's now. */
  readonly failed: (manager: EntityManager, message: Message) => Promise<void>;
};

/** Lets rooms that come after the reminders follow what becomes of messages; they register when their module starts. */
@Injectable()
export class MessageEffects {
  private readonly effects: MessageEffect[] = [];

  register(effect: MessageEffect): void {
    this.effects.push(effect);
  }

  async failed(manager: EntityManager, message: Message): Promise<void> {
    for (const effect of this.effects) await effect.failed(manager, message);
  }
}
