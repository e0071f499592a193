import { Controller, Get, Inject, Param, Post } from '@nestjs/common';
import { DomainError, dateIn } from '../base/index.js';
import { Calendars } from '../book/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { may, type Principal } from '../identity/index.js';
import { Salons, type Staff } from '../salon/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { dayText } from './days.js';
import { Front } from './front.js';

/** A stylist's appointments in her own calendar program: her secret address, made, made anew and closed. */
@Needs('book.read')
@Controller('calendar')
export class CalendarPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly calendars: Calendars,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  /** One's own. */
  @Get()
  async mine(@Called() call: Call): Promise<void> {
    const { me } = await this.front.setting(call.principal);
    if (me) {
      await this.show(call, me);
      return;
    }
    await renderPage(call, 'calendar', { heading: 'Calendar', nobody: true });
  }

  @Get(':staffId')
  async one(@Called() call: Call, @Param('staffId') staffId: string): Promise<void> {
    await this.show(call, await this.allowed(call.principal, staffId));
  }

  /** The address is shown on the answer itself: only its hash is kept, and it can never be shown again. */
  @Post(':staffId')
  async renew(@Called() call: Call, @Param('staffId') staffId: string): Promise<void> {
    const staff = await this.allowed(call.principal, staffId);
    const token = await this.calendars.issueFeed(staff.id, call.actor);
    await this.show(call, staff, `/api/v1/calendars/${token}`);
  }

  @Post(':staffId/close')
  async close(@Called() call: Call, @Param('staffId') staffId: string): Promise<void> {
    const staff = await this.allowed(call.principal, staffId);
    await this.calendars.endFeed(staff.id, call.actor);
    leaveNotice(call, 'Closed: the address opens nothing any more.');
    await call.redirectTo(`/calendar/${staff.id}`);
  }

  /** Throws STAFF.NOT_FOUND, and CALENDAR.NOT_YOURS for another's without the right to settings. */
  private async allowed(principal: Principal, staffId: string): Promise<Staff> {
    const { salon, me } = await this.front.setting(principal);
    const staff = await this.salons.member(salon.id, staffId);
    if (staff.id === me?.id || may(principal.role, 'salon.write')) return staff;
    throw new DomainError(
      'forbidden',
      'CALENDAR.NOT_YOURS',
      'A calendar is opened by whose it is, or by the owner.',
    );
  }

  private async show(call: Call, staff: Staff, path?: string): Promise<void> {
    const { salon, spoken } = await this.front.setting(call.principal);
    const since = await this.calendars.feedSince(staff.id);
    const address = path && new URL(path, this.settings.publicUrl).href;
    await renderPage(call, 'calendar', {
      heading: `Calendar of ${staff.name}`,
      staffId: staff.id,
      name: staff.name,
      address,
      subscribe: address?.replace(/^https?:/, 'webcal:'),
      since: since !== undefined && dayText(dateIn(salon.zone, since), spoken),
    });
  }
}
