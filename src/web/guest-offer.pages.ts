import { Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { type LinkedOffer, WaitingOffers } from '../book/index.js';
import { Call, Called, Open } from '../http/index.js';
import { GuestRoom } from './guest-room.js';

const MINUTE_MS = 60_000;

const HEADINGS: Readonly<Record<LinkedOffer['state'], string>> = {
  open: 'A time has become free',
  accepted: 'It is yours',
  gone: 'This time is taken by now',
  declined: 'You left this time to others',
  withdrawn: 'This offer no longer stands',
  expired: 'This offer has run out',
};

const WORDS: Readonly<Record<LinkedOffer['state'], string>> = {
  open: '',
  accepted: 'The time is booked for you. A message with a link to move or cancel it is on its way.',
  gone: 'Sorry, somebody was quicker. You are still on the waiting list and will hear of the next one.',
  declined: 'Thank you for telling us. You are still on the waiting list.',
  withdrawn: 'If you still want a time, please ring us.',
  expired: 'You are still on the waiting list and will hear of the next one.',
};

/** Where the link to an offered time leads one who waits: the first to take it has it. Looking changes nothing. */
@Open()
@Controller('o')
export class GuestOfferPages {
  constructor(
    private readonly room: GuestRoom,
    private readonly offers: WaitingOffers,
  ) {}

  @Get(':token')
  async look(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.room.receive(call, () => this.show(call, token));
  }

  @Post(':token/accept')
  @HttpCode(200)
  async accept(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.press(call, token, () => this.offers.accept(token, call.request.ip));
  }

  @Post(':token/decline')
  @HttpCode(200)
  async decline(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.press(call, token, () => this.offers.decline(token));
  }

  private async press(call: Call, token: string, work: () => Promise<unknown>): Promise<void> {
    await this.room.receive(call, () =>
      this.room.attempt(
        call,
        async () => {
          await work();
          await call.redirectTo(`/o/${token}`);
        },
        (told) => this.show(call, token, told),
      ),
    );
  }

  private async show(call: Call, token: string, told?: string): Promise<void> {
    const { state, salon, startsAt, endsAt, expiresAt, ...offer } = await this.offers.resolve(token);
    const open = state === 'open';
    await this.room.show(call, 'guest-offer', {
      heading: HEADINGS[state],
      salon,
      token,
      open,
      words: WORDS[state],
      // What the state says is not said twice.
      told: open ? told : undefined,
      clientName: offer.clientName,
      serviceName: offer.serviceName,
      staffName: offer.staffName,
      when: this.room.moment(startsAt, salon),
      minutes: (endsAt - startsAt) / MINUTE_MS,
      until: this.room.moment(expiresAt, salon),
    });
  }
}
