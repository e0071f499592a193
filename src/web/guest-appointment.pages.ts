import { Body, Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { Calendars, ClientLinks, type LinkedAppointment } from '../book/index.js';
import { Call, Called, leaveNotice, Open } from '../http/index.js';
import { typedValues } from './forms.js';
import { GuestRoom } from './guest-room.js';
import { slotDays } from './slot-view.js';

const MINUTE_MS = 60_000;

const HEADINGS: Readonly<Record<LinkedAppointment['state'], string>> = {
  booked: 'Your appointment',
  arrived: 'You are here',
  done: 'This visit is over',
  'no-show': 'We missed you',
  cancelled: 'This appointment is cancelled',
};

/**
 * Where the link to an appointment leads: its client confirms, moves or cancels, without an account, on any phone.
 * Looking changes nothing, because programs that check mail look too.
 */
@Open()
@Controller('a')
export class GuestAppointmentPages {
  constructor(
    private readonly room: GuestRoom,
    private readonly links: ClientLinks,
    private readonly calendars: Calendars,
  ) {}

  @Get(':token')
  async look(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.room.receive(call, () => this.show(call, token));
  }

  @Get(':token/move')
  async times(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.room.receive(call, () =>
      this.room.attempt(
        call,
        () => this.showTimes(call, token),
        (told) => this.show(call, token, told),
      ),
    );
  }

  @Get(':token/cancel')
  async ask(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.room.receive(call, async () => {
      const seen = await this.links.resolve(token);
      if (!seen.may.cancel) {
        await call.redirectTo(`/a/${token}`);
        return;
      }
      await this.room.show(call, 'guest-cancel', {
        ...this.view(seen, token),
        heading: 'Cancel this appointment?',
      });
    });
  }

  @Get(':token/appointment.ics')
  async calendar(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.room.receive(call, async () => {
      const { appointmentId } = await this.links.resolve(token);
      const { method, content } = await this.calendars.file(appointmentId);
      await call.reply
        .type(`text/calendar; charset=utf-8; method=${method}`)
        .header('cache-control', 'no-store')
        .header('x-robots-tag', 'noindex, nofollow, noarchive')
        .header('content-disposition', 'attachment; filename="appointment.ics"')
        .send(content);
    });
  }

  @Post(':token/:press')
  @HttpCode(200)
  async press(
    @Called() call: Call,
    @Param('token') token: string,
    @Param('press') press: string,
    @Body() body: unknown,
  ): Promise<void> {
    const isMove = press === 'move';
    await this.room.receive(call, () =>
      this.room.attempt(
        call,
        async () => {
          leaveNotice(call, await this.pressed(press, token, typedValues(body), call.request.ip));
          await call.redirectTo(`/a/${token}`);
        },
        async (told) => {
          const { may } = await this.links.resolve(token);
          if (isMove && may.move) await this.showTimes(call, token, told);
          else await this.show(call, token, told);
        },
      ),
    );
  }

  private async pressed(
    press: string,
    token: string,
    values: Readonly<Record<string, string>>,
    ip: string,
  ): Promise<string> {
    switch (press) {
      case 'confirm':
        await this.links.confirm(token, ip);
        return 'Thank you. We look forward to seeing you.';
      case 'move':
        await this.links.move(token, { startsAt: values['startsAt'], staffId: values['staffId'] }, ip);
        return 'Your appointment is moved. This is the new time.';
      case 'cancel':
        await this.links.cancel(token, ip);
        return 'Your appointment is cancelled. Thank you for telling us.';
      default:
        throw DomainError.notFound('PAGE.NOT_FOUND', 'page');
    }
  }

  private async show(call: Call, token: string, told?: string): Promise<void> {
    const seen = await this.links.resolve(token);
    await this.room.show(call, 'guest-appointment', {
      ...this.view(seen, token),
      heading: HEADINGS[seen.state],
      // Another state says by itself why nothing was done.
      told: seen.state === 'booked' ? told : undefined,
    });
  }

  private async showTimes(call: Call, token: string, told?: string): Promise<void> {
    const seen = await this.links.resolve(token);
    const slots = await this.links.slots(token);
    await this.room.show(call, 'guest-move', {
      ...this.view(seen, token),
      heading: 'Choose another time',
      told,
      action: `/a/${token}/move`,
      days: slotDays(slots, this.room.spoken(seen.salon)),
    });
  }

  private view(seen: LinkedAppointment, token: string) {
    const { state, salon, startsAt, endsAt, may, confirmedAt, noticeEndsAt } = seen;
    return {
      salon,
      token,
      state,
      may,
      clientName: seen.clientName,
      serviceName: seen.serviceName,
      staffName: seen.staffName,
      when: this.room.moment(startsAt, salon),
      minutes: (endsAt - startsAt) / MINUTE_MS,
      confirmed: state === 'booked' && confirmedAt !== null,
      changeBy: may.move ? this.room.moment(noticeEndsAt, salon) : '',
    };
  }
}
