import type { Role } from '../src/identity/index.js';
import type { Salon, Service, Staff } from '../src/salon/index.js';
import type { Calendar } from './calendar.js';
import type { Dice } from './dice.js';
import type { Rows } from './rows.js';

/** How the demo's salon is told from any other. */
export const DEMO_SALON_EMAIL = 'hello@nape-and-lantern.example.org';

/** The same for all demo sign-ins: printed at the start, and worth nothing anywhere else. */
export const DEMO_PASSWORD = 'half-an-inch-off';

/** Days after the start on which the salon is shut, and on which one stylist is away. */
const TRAINING_DAY = 19;
const LEAVE = { from: 24, to: 30 } as const;

type Person = {
  readonly name: string;
  readonly email: string;
  readonly role: Role;
  readonly fingerWidthMm: number;
  /** Share of visits after which the next one is booked before the client leaves. */
  readonly rebooks: number;
  /** Weekdays worked (1 Monday), with the morning's and the afternoon's stretch. */
  readonly weekdays: readonly number[];
  readonly hours: readonly (readonly [startsAt: string, endsAt: string])[];
};

const EARLY = [
  ['09:00', '12:45'],
  ['13:30', '17:00'],
] as const;
const LATE = [
  ['11:00', '15:00'],
  ['15:30', '19:00'],
] as const;

/** Somebody cuts on every day of the week, at least two of them. */
export const STYLISTS: readonly Person[] = [
  {
    name: 'Maren Oakshott',
    email: 'maren@example.org',
    role: 'stylist',
    fingerWidthMm: 17,
    rebooks: 0.68,
    weekdays: [2, 4, 6],
    hours: EARLY,
  },
  {
    name: 'Tobiah Lunt',
    email: 'tobiah@example.org',
    role: 'stylist',
    fingerWidthMm: 20,
    rebooks: 0.6,
    weekdays: [1, 3, 5, 7],
    hours: LATE,
  },
  {
    name: 'Sunniva Achterberg',
    email: 'sunniva@example.org',
    role: 'stylist',
    fingerWidthMm: 16,
    rebooks: 0.54,
    weekdays: [1, 3, 5],
    hours: EARLY,
  },
  {
    name: 'Odalys Ferreday',
    email: 'odalys@example.org',
    role: 'stylist',
    fingerWidthMm: 18,
    rebooks: 0.42,
    weekdays: [2, 4, 6, 7],
    hours: LATE,
  },
];

const OTHERS = [
  { name: 'Bettany Crosk', email: 'desk@example.org', role: 'desk' },
  { name: 'Rosalind Varga-Hume', email: 'owner@example.org', role: 'owner' },
] as const;

const SERVICES = [
  { key: 'fullCut', name: 'Full cut', kind: 'full-cut', zones: [], minutes: 45, priceMinor: 5200 },
  { key: 'reshape', name: 'Full cut, new shape', kind: 'full-cut', zones: [], minutes: 75, priceMinor: 7400 },
  {
    key: 'napeTidy',
    name: 'Nape and ears tidy',
    kind: 'tidy',
    zones: ['nape', 'left-side', 'right-side'],
    minutes: 30,
    priceMinor: 2200,
  },
  { key: 'fringeTidy', name: 'Fringe tidy', kind: 'tidy', zones: ['fringe'], minutes: 15, priceMinor: 900 },
  {
    key: 'colour',
    name: 'Root colour and full cut',
    kind: 'colour',
    zones: [],
    minutes: 120,
    priceMinor: 11800,
  },
  { key: 'consultation', name: 'Dry consultation', kind: 'other', zones: [], minutes: 15, priceMinor: 0 },
] as const satisfies readonly (Pick<Service, 'name' | 'kind' | 'minutes' | 'priceMinor'> & {
  key: string;
  zones: readonly Service['zones'][number][];
})[];

export type ServiceKey = (typeof SERVICES)[number]['key'];

export type Stylist = { readonly staff: Staff; readonly rebooks: number };

export type DemoSalon = {
  readonly salon: Salon;
  readonly stylists: readonly Stylist[];
  readonly services: Readonly<Record<ServiceKey, Service>>;
  readonly deskAccountId: string;
};

/** Everybody who can sign in; of those who cut on this weekday the one who stays longest comes first. */
export function demoPeople(weekday: number): readonly Pick<Person, 'name' | 'email' | 'role'>[] {
  const until = ({ weekdays, hours }: Person) => (weekdays.includes(weekday) ? hours.at(-1)![1] : '');
  return [...[...STYLISTS].sort((a, b) => until(b).localeCompare(until(a))), ...OTHERS];
}

/** `passwordHash` gives the encoded hash for an account's mail address. */
export function openSalon(
  rows: Rows,
  calendar: Calendar,
  dice: Dice,
  passwordHash: (email: string) => string,
): DemoSalon {
  const openedAt = calendar.at(calendar.today - 760, 600);
  const id = () => dice.id(openedAt);
  const salon: Salon = {
    id: id(),
    version: 1,
    name: 'Nape & Lantern',
    zone: calendar.zone,
    units: 'cm',
    currency: 'GBP',
    locale: 'en-GB',
    phoneRegion: 'GB',
    email: DEMO_SALON_EMAIL,
    phone: '+442079460614',
    address: '14 Tallow Row\nMarrowby',
    reminderHours: 48,
    skinTestValidDays: 180,
  };
  rows.salons.push(salon);
  for (let weekday = 1; weekday <= 7; weekday += 1) {
    rows.openingHours.push({ id: id(), salonId: salon.id, weekday, opensAt: '09:00', closesAt: '19:00' });
  }
  const account = (person: Pick<Person, 'name' | 'email' | 'role'>): string => {
    const accountId = id();
    const { name, email, role } = person;
    rows.accounts.push({
      id: accountId,
      version: 1,
      email,
      name,
      role,
      passwordHash: passwordHash(email),
      active: true,
    });
    return accountId;
  };
  const join = (name: string, accountId: string, cutsHair: boolean, fingerWidthMm: number): Staff => {
    const staff = {
      id: id(),
      version: 1,
      salonId: salon.id,
      accountId,
      name,
      cutsHair,
      fingerWidthMm,
      active: true,
    };
    rows.staff.push(staff);
    return staff;
  };
  const stylists = STYLISTS.map((person): Stylist => {
    const staff = join(person.name, account(person), true, person.fingerWidthMm);
    for (const weekday of person.weekdays) {
      for (const [startsAt, endsAt] of person.hours) {
        rows.rota.push({ id: id(), staffId: staff.id, weekday, startsAt, endsAt });
      }
    }
    return { staff, rebooks: person.rebooks };
  });
  const [deskAccountId = ''] = OTHERS.map((person) => {
    const accountId = account(person);
    join(person.name, accountId, false, 18);
    return accountId;
  });
  const off = (staffId: string | null, from: number, to: number, reason: string) =>
    rows.closures.push({
      id: id(),
      salonId: salon.id,
      staffId,
      startsOn: calendar.date(calendar.today + from),
      endsOn: calendar.date(calendar.today + to),
      reason,
    });
  off(null, TRAINING_DAY, TRAINING_DAY, 'Training day');
  off(stylists[3]!.staff.id, LEAVE.from, LEAVE.to, 'Leave');
  const services = Object.fromEntries(
    SERVICES.map(({ key, zones, ...service }) => {
      const row: Service = {
        id: id(),
        version: 1,
        salonId: salon.id,
        ...service,
        zones: [...zones],
        active: true,
      };
      rows.services.push(row);
      return [key, row];
    }),
  ) as Record<ServiceKey, Service>;
  return { salon, stylists, services, deskAccountId };
}
