import { Body, Controller, Get, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clock, DomainError } from '../base/index.js';
import { leaveNotice, Open, renderPage } from '../http/index.js';
import { FirstOwner, SYSTEM } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { optionsOf } from './words.js';

const UNITS = optionsOf({ cm: 'centimetres', in: 'inches', mm: 'millimetres' });
const FIRST = {
  zone: 'Europe/London',
  units: 'cm',
  currency: 'GBP',
  locale: 'en-GB',
  phoneRegion: 'GB',
};

/** Form names of the salon's own fields start so: it has a name, a mail address and a phone as the owner has. */
const SALON_PREFIX = 'salon-';

/** The very first page of a fresh installation: the owner and the salon. */
@Open()
@Controller('set-up')
export class SetUpPages {
  constructor(
    private readonly firstOwner: FirstOwner,
    private readonly salons: Salons,
    private readonly clock: Clock,
  ) {}

  @Get()
  async form(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    if (!(await this.firstOwner.isNeeded())) return await reply.redirect('/sign-in', 303);
    const values = Object.fromEntries(
      Object.entries(FIRST).map(([name, value]) => [SALON_PREFIX + name, value]),
    );
    await this.show(request, reply, openForm(values));
  }

  @Post()
  async make(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Body() body: unknown,
  ): Promise<void> {
    const values = typedValues(body);
    const { name = '', email = '', password = '', code = '' } = values;
    const owner = { name, email, password, code };
    await answerForm({
      reply,
      values: { ...values, password: '' },
      work: async () => {
        const now = this.clock.now();
        // The owner is checked first, made last: what fails in between can be sent again.
        await this.firstOwner.check(owner, now);
        await this.requireSalon(values);
        await this.firstOwner.make(owner, now);
        leaveNotice(request, reply, 'You are the owner now. Please sign in.');
        await reply.redirect('/sign-in', 303);
      },
      again: (form) => this.show(request, reply, form),
    });
  }

  private async requireSalon(values: Readonly<Record<string, string>>): Promise<void> {
    try {
      await this.salons.only();
    } catch (error) {
      if (!(error instanceof DomainError) || error.code !== 'SALON.NOT_FOUND') throw error;
      const own = Object.entries(values).filter(([name]) => name.startsWith(SALON_PREFIX));
      await this.salons
        .add(Object.fromEntries(own.map(([name, value]) => [name.slice(SALON_PREFIX.length), value])), SYSTEM)
        .catch((problem: unknown) => {
          throw prefixed(problem);
        });
    }
  }

  private async show(request: FastifyRequest, reply: FastifyReply, form: FormState): Promise<void> {
    await renderPage(request, reply, 'set-up', { heading: 'Set up', form, units: UNITS });
  }
}

/** A salon's problem under the form's own names. */
function prefixed(problem: unknown): unknown {
  if (!(problem instanceof DomainError)) return problem;
  const fields = problem.fields.map(({ field, message }) => ({ field: SALON_PREFIX + field, message }));
  return new DomainError(problem.kind, problem.code, problem.message, fields, problem.details);
}
