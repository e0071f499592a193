import { Inject, Injectable, type OnModuleInit } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { Clock } from '../base/index.js';
import { WaitingEffects, type WaitingOffer } from '../book/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { channelsOf } from './channels.js';
import { Message, type MessageKind } from './entities.js';
import { oweOnce, UNSENT } from './owing.js';

/** Owes word of an offered time, and a kind word when somebody else was quicker, in the transaction that does either. */
@Injectable()
export class WaitingMessages implements OnModuleInit {
  constructor(
    private readonly effects: WaitingEffects,
    private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  onModuleInit(): void {
    this.effects.register({
      offered: (manager, offer) => this.owe(manager, offer, 'waiting-offer'),
      gone: async (manager, offer) => {
        // Who has not heard of the offer need not hear that it is gone.
        const { affected } = await manager.update(
          Message,
          { aboutId: offer.id, kind: 'waiting-offer', state: In(UNSENT) },
          { state: 'withdrawn', reason: 'over', leaseId: null, notBefore: null },
        );
        if (affected === 0) await this.owe(manager, offer, 'waiting-gone');
      },
    });
  }

  private async owe(manager: EntityManager, offer: WaitingOffer, kind: MessageKind): Promise<void> {
    const { id, salonId, clientId } = offer;
    const now = this.clock.now();
    const row = { dedupeKey: `${kind}:${id}`, salonId, clientId, aboutId: id, kind, dueAt: now };
    await oweOnce(manager, row, now, channelsOf(this.settings));
  }
}
