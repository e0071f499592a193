import { Body, Controller, Get, Post } from '@nestjs/common';
import { Call, Called, leaveNotice, Open, renderPage } from '../http/index.js';
import { FirstOwner } from '../identity/index.js';
import { SetUp } from '../salon/index.js';
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
    private readonly setUp: SetUp,
  ) {}

  @Get()
  async form(@Called() call: Call): Promise<void> {
    if (!(await this.firstOwner.isNeeded())) return await call.redirectTo('/sign-in');
    const values = Object.fromEntries(
      Object.entries(FIRST).map(([name, value]) => [SALON_PREFIX + name, value]),
    );
    await this.show(call, openForm(values));
  }

  @Post()
  async make(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    const { name = '', email = '', password = '', code = '' } = values;
    const owner = { name, email, password, code };
    const own = Object.entries(values).filter(([field]) => field.startsWith(SALON_PREFIX));
    const salon = Object.fromEntries(own.map(([field, value]) => [field.slice(SALON_PREFIX.length), value]));
    await answerForm({
      call,
      values: { ...values, password: '' },
      rename: (field) => field.replace(/^salon\./, SALON_PREFIX),
      work: async () => {
        await this.setUp.make(owner, salon);
        leaveNotice(call, 'You are the owner now. Please sign in.');
        await call.redirectTo('/sign-in');
      },
      again: (form) => this.show(call, form),
    });
  }

  private async show(call: Call, form: FormState): Promise<void> {
    await renderPage(call, 'set-up', { heading: 'Set up', form, units: UNITS });
  }
}
