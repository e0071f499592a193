import { type BeforeApplicationShutdown, Controller, Get, Headers, Param, Query } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { LiveBook } from '../book/index.js';
import { Call, Called, Needs, ServerEvents, Who } from '../http/index.js';
import { type Principal, permits, Sessions, SignIn } from '../identity/index.js';
import { Salons } from '../salon/index.js';

const RETRY_MS = 2000;
/** Well under the minute after which proxies commonly close a silent connection. */
const BEAT_MS = 15_000;
/** Pages of one session that may follow at once. */
const MOST_STREAMS = 30;

type Stream = { readonly events: ServerEvents; readonly token: string };

/** Tells open pages that the book has changed. They look at it themselves: nothing of it goes out here. */
@Controller('salons/:id/changes')
export class LivePages implements BeforeApplicationShutdown {
  private readonly streams = new Set<Stream>();
  private readonly forgetEnded: () => void;
  private closing = false;

  constructor(
    private readonly live: LiveBook,
    private readonly salons: Salons,
    private readonly signIn: SignIn,
    sessions: Sessions,
  ) {
    this.forgetEnded = sessions.onEnded(() => void this.endSignedOut());
  }

  /** `since` is the version that the page shows; after a lost connection the browser sends the last one it heard of. */
  @Needs('book.read')
  @Get()
  async changes(
    @Called() call: Call,
    @Who() who: Principal,
    @Param('id') id: string,
    @Query('since') since?: unknown,
    @Headers('last-event-id') last?: string,
  ): Promise<void> {
    const salon = (await this.salons.openTo(who)).find((one) => one.id === id);
    if (!salon) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
    const token = call.request.sessionToken ?? '';
    const open = [...this.streams].filter((stream) => stream.token === token).length;
    if (open >= MOST_STREAMS || this.closing) {
      throw new DomainError('refused', 'REQUESTS.TOO_MANY', 'Too many pages follow the book at once.');
    }
    const events = new ServerEvents(call.reply, RETRY_MS);
    const stream = { events, token };
    this.streams.add(stream);
    const seen = last ?? (typeof since === 'string' ? since : undefined);
    const leave = this.live.follow(salon.id, seen, ({ version, stretches }) =>
      events.send({ id: version, event: 'book', data: { version, stretches } }),
    );
    const beat = setInterval(() => {
      events.beat();
      void this.endUnless(stream);
    }, BEAT_MS);
    events.onClose(() => {
      clearInterval(beat);
      leave();
      this.streams.delete(stream);
    });
  }

  /** The server stops only when its connections have ended. */
  beforeApplicationShutdown(): void {
    this.closing = true;
    this.forgetEnded();
    for (const { events } of this.streams) events.end();
  }

  private async endSignedOut(): Promise<void> {
    await Promise.all([...this.streams].map((stream) => this.endUnless(stream)));
  }

  /** Ends a stream whose session is over or may no longer read the book. */
  private async endUnless({ events, token }: Stream): Promise<void> {
    const who = await this.signIn.whoIs(token, false).catch(() => undefined);
    if (!who || !permits(who, 'book.read')) events.end();
  }
}
