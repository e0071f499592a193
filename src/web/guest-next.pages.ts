import { Body, Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { dateInWords } from '../base/index.js';
import { Call, Called, leaveNotice, Open } from '../http/index.js';
import { ShapeLinks } from '../rebooking/index.js';
import { typedValues } from './forms.js';
import { GuestRoom } from './guest-room.js';
import { slotDays } from './slot-view.js';

/** Where "your shape is due" leads: free times for the next cut, and one press books. Looking changes nothing. */
@Open()
@Controller('n')
export class GuestNextPages {
  constructor(
    private readonly room: GuestRoom,
    private readonly links: ShapeLinks,
  ) {}

  @Get(':token')
  async look(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.room.receive(call, () => this.show(call, token));
  }

  @Post(':token/book')
  @HttpCode(200)
  async book(@Called() call: Call, @Param('token') token: string, @Body() body: unknown): Promise<void> {
    const { startsAt, staffId } = typedValues(body);
    await this.room.receive(call, () =>
      this.room.attempt(
        call,
        async () => {
          const taken = await this.links.take(token, { startsAt, staffId }, call.request.ip);
          leaveNotice(call, 'Your appointment is booked. We look forward to seeing you.');
          await call.redirectTo(`/a/${taken.token}`);
        },
        (told) => this.show(call, token, told),
      ),
    );
  }

  private async show(call: Call, token: string, told?: string): Promise<void> {
    const { clientName, salon, booked, next } = await this.links.resolve(token);
    const spoken = this.room.spoken(salon);
    const inWords = (date: string) => dateInWords(date, salon.locale);
    await this.room.show(call, 'guest-next', {
      heading: booked ? 'You are booked' : 'Your next cut',
      salon,
      clientName,
      told,
      booked: booked && `${inWords(booked.date)}, ${booked.time}`,
      next: next && {
        serviceName: next.serviceName,
        minutes: next.minutes,
        due: next.dueOn > spoken.today ? inWords(next.dueOn) : '',
        latest: next.latestOn > spoken.today ? inWords(next.latestOn) : '',
      },
      action: `/n/${token}/book`,
      days: next ? slotDays(next.slots, spoken) : [],
    });
  }
}
