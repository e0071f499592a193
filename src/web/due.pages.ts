import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { addDays, DomainError } from '../base/index.js';
import { Book } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { may } from '../identity/index.js';
import { Checkout, type DueClient, DueList } from '../rebooking/index.js';
import { Invitations } from '../reminders/index.js';
import { momentText } from './days.js';
import { dueRow } from './due-view.js';
import { typedValues } from './forms.js';
import { Front, staffOptions } from './front.js';
import { counted, nameOf, optionsOf } from './words.js';

const AHEAD = optionsOf({ '0': 'today', '7': 'in a week', '14': 'in two weeks', '28': 'in four weeks' });
/** As many as can be rung in an hour; each is shown with a free time, which takes a search. */
const ON_A_PAGE = 15;
/** So long after the window a client has gone rather than being due (ours). */
const GONE_AFTER_DAYS = 60;

type Asked = {
  readonly ahead: string;
  readonly staffId: string;
  readonly gone: boolean;
  readonly page: number;
};

/** Due and not booked: whom to ring, write to or book, the likeliest to have lost the shape first. */
@Controller('due')
export class DuePages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly book: Book,
    private readonly due: DueList,
    private readonly checkout: Checkout,
    private readonly invitations: Invitations,
  ) {}

  @Needs('book.read')
  @Get()
  async list(@Called() call: Call, @Query() query: Record<string, unknown>): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, today } = setting;
    const stylists = await this.front.stylists(salon.id);
    const asked = askedOf(
      query,
      stylists.map(({ id }) => id),
    );
    const { clients, total, setAside } = await this.due.page(salon.id, {
      until: addDays(today, Number(asked.ahead)),
      staffId: asked.staffId || undefined,
      gone: { since: addDays(today, -GONE_AFTER_DAYS), only: asked.gone },
      skip: asked.page * ON_A_PAGE,
      take: ON_A_PAGE,
    });
    const books = may(call.principal.role, 'book.write');
    const rows = [];
    for (const client of clients) {
      rows.push(dueRow(client, setting, this.invitations.channels, await this.bestSlot(client, books)));
    }
    const pages = Math.max(1, Math.ceil(total / ON_A_PAGE));
    await renderPage(call, 'due', {
      heading: 'Due and not booked',
      frontDesk: true,
      rows,
      gone: asked.gone,
      goneAfter: GONE_AFTER_DAYS,
      count: counted(total, 'client'),
      one: total === 1,
      others: setAside > 0 && {
        words: counted(setAside, 'client'),
        href: addressOf({ ...asked, gone: !asked.gone, page: 0 }),
      },
      form: { values: { ahead: asked.ahead, staffId: asked.staffId } },
      ahead: AHEAD,
      stylists: staffOptions(stylists),
      pages: pages > 1 && {
        words: `Page ${asked.page + 1} of ${pages}`,
        before: asked.page > 0 && addressOf({ ...asked, page: asked.page - 1 }),
        after: asked.page + 1 < pages && addressOf({ ...asked, page: asked.page + 1 }),
      },
      query: addressOf(asked).slice('/due'.length),
    });
  }

  @Needs('message.write')
  @Post(':id/invite')
  async invite(
    @Called() call: Call,
    @Param('id') id: string,
    @Query() query: Record<string, unknown>,
  ): Promise<void> {
    const { salon, now, spoken } = await this.front.setting(call.principal);
    const name = nameOf(await this.clients.get(id));
    try {
      const { channel, dueAt } = await this.invitations.invite(id, call.actor);
      const when = dueAt > now ? `goes ${momentText(dueAt, salon.zone, spoken)}` : 'goes now';
      const by = channel === 'mail' ? 'mail' : 'text message';
      leaveNotice(call, `The invitation to ${name} ${when}, by ${by}.`);
    } catch (error) {
      if (!(error instanceof DomainError) || error.kind !== 'refused') throw error;
      leaveNotice(call, `Nothing was sent to ${name}. ${error.message}`);
    }
    await call.redirectTo(`${await this.pageAsked(query, salon.id)}#c-${id}`);
  }

  /** The free time that was offered beside her; then the next client of the list. */
  @Needs('book.write')
  @Post(':id/book')
  async bookOne(
    @Called() call: Call,
    @Param('id') id: string,
    @Query() query: Record<string, unknown>,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon, spoken } = await this.front.setting(call.principal);
    const name = nameOf(await this.clients.get(id));
    try {
      const { startsAt } = await this.book.book({ ...typedValues(body), clientId: id }, call.actor);
      leaveNotice(call, `${name} is booked for ${momentText(startsAt, salon.zone, spoken)}.`);
      await call.redirectTo(await this.pageAsked(query, salon.id));
    } catch (error) {
      if (!(error instanceof DomainError) || error.kind === 'not-found') throw error;
      leaveNotice(call, `${name} is not booked. ${error.message}`);
      await call.redirectTo(`/clients/${id}/rebook`);
    }
  }

  /** Address of the page of the list that was looked at. */
  private async pageAsked(query: Record<string, unknown>, salonId: string): Promise<string> {
    const stylists = await this.front.stylists(salonId);
    return addressOf(
      askedOf(
        query,
        stylists.map(({ id }) => id),
      ),
    );
  }

  /** None for whoever asked not to be booked now, nor without the right. */
  private async bestSlot({ clientId, notNow }: DueClient, books: boolean) {
    if (!books || notNow) return undefined;
    return (await this.checkout.suggest(clientId, undefined, { limit: 1 }))?.slots[0];
  }
}

function askedOf(query: Record<string, unknown>, staffIds: readonly string[]): Asked {
  const { ahead, staffId, gone, page } = query;
  const number = typeof page === 'string' && /^\d{1,4}$/.test(page) ? Number(page) - 1 : 0;
  return {
    ahead: AHEAD.find(({ value }) => value === ahead)?.value ?? '0',
    staffId: staffIds.find((id) => id === staffId) ?? '',
    gone: gone === 'yes',
    page: Math.max(0, number),
  };
}

function addressOf({ ahead, staffId, gone, page }: Asked): string {
  const query = new URLSearchParams({
    ...(ahead !== '0' && { ahead }),
    ...(staffId && { staffId }),
    ...(gone && { gone: 'yes' }),
    ...(page > 0 && { page: String(page + 1) }),
  }).toString();
  return query === '' ? '/due' : `/due?${query}`;
}
