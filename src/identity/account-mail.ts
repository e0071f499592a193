import { Injectable } from '@nestjs/common';

/** A letter about somebody's own account. */
export type AccountLetter = {
  readonly to: { readonly name: string; readonly address: string };
  readonly subject: string;
  readonly text: string;
};

/**
 * Port to whatever carries letters away: the outer layer joins it at start-up, because the rooms that send messages
 * come later than this one. Such letters are not owed like a client's: one that is lost is asked for again.
 */
@Injectable()
export class AccountMail {
  private carrier: ((letter: AccountLetter) => Promise<void>) | undefined;

  join(carrier: (letter: AccountLetter) => Promise<void>): void {
    this.carrier = carrier;
  }

  async post(letter: AccountLetter): Promise<void> {
    if (!this.carrier) throw new Error('Nobody carries letters about accounts.');
    await this.carrier(letter);
  }
}
