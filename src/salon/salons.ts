import { Injectable } from '@nestjs/common';
import { type EntityManager, LessThanOrEqual, MoreThanOrEqual } from 'typeorm';
import { AsyncContext, DomainError, given, toE164, validated } from '../base/index.js';
import { Account, type Actor, Audit, type Principal } from '../identity/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { ClosureInput, HoursInput, SalonInput, ServiceInput, StaffInput, WeekInput } from './dto.js';
import { Closure, OpeningHours, RotaEntry, Salon, Service, Staff } from './entities.js';
import { requireSteps } from './service-steps.js';
import { requireTidyWeek } from './week.js';

const SALON = { code: 'SALON', name: 'salon' };
const STAFF = { code: 'STAFF', name: 'member of staff' };
const SERVICE = { code: 'SERVICE', name: 'service' };

/** The salon, its people, what they do and when they work. Inputs are checked here; owners write. */
@Injectable()
export class Salons {
  /** What the request that is answered just now has asked already. */
  private readonly asked = new AsyncContext<Map<string, Promise<unknown>>>();

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly audit: Audit,
  ) {}

  /** Runs `work`, which changes nothing: who and what there is in a salon is asked of the database once in it. */
  askingOnce<T>(work: () => T): T {
    return this.asked.run(new Map(), work);
  }

  /** Throws SALON.NOT_FOUND. */
  async get(salonId: string): Promise<Salon> {
    const salon = await this.reader.manager.findOneBy(Salon, { id: salonId });
    if (!salon) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
    return salon;
  }

  /** The one salon of this installation. Throws SALON.NOT_FOUND while there is none, SALON.SEVERAL when one must be named. */
  async only(): Promise<Salon> {
    const [salon, other] = await this.reader.manager.find(Salon, { order: { id: 'ASC' }, take: 2 });
    if (!salon) {
      throw new DomainError('not-found', 'SALON.NOT_FOUND', 'No salon has been set up yet.');
    }
    if (other)
      throw new DomainError('conflict', 'SALON.SEVERAL', 'There are several salons: say which is meant.');
    return salon;
  }

  /** The salons that somebody may work in, by name: the owner in all, who is on the staff of one in that, others in all. */
  async openTo({ accountId, role }: Pick<Principal, 'accountId' | 'role'>): Promise<Salon[]> {
    const all = await this.once('salons', () =>
      this.reader.manager.find(Salon, { order: { name: 'ASC', id: 'ASC' } }),
    );
    const own = await this.boundTo({ accountId, role });
    return own === undefined ? all : all.filter(({ id }) => id === own);
  }

  /** The salon beyond which somebody sees nothing: that of whose staff she is, unless she is the owner. */
  async boundTo({ accountId, role }: Pick<Principal, 'accountId' | 'role'>): Promise<string | undefined> {
    return role === 'owner' ? undefined : (await this.staffOf(accountId))?.salonId;
  }

  /**
   * The salon somebody works in now: the one asked for, else the only one, else that of whose staff she is. Throws
   * SALON.NOT_FOUND, also for one that is not open to her, and SALON.SEVERAL, naming them, when she must choose.
   */
  async of(principal: Principal): Promise<Salon> {
    const open = await this.openTo(principal);
    const { salonId } = principal;
    if (salonId !== undefined) {
      const asked = open.find(({ id }) => id === salonId);
      if (!asked) throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
      return asked;
    }
    const own = open.length > 1 ? await this.staffOf(principal.accountId) : null;
    const [first, second] = own ? open.filter(({ id }) => id === own.salonId) : open;
    if (!first) throw new DomainError('not-found', 'SALON.NOT_FOUND', 'No salon has been set up yet.');
    if (!second) return first;
    const message = 'There are several salons: say which is meant, by its id in the header halfinch-salon.';
    throw new DomainError('conflict', 'SALON.SEVERAL', message, [{ field: 'halfinch-salon', message }], {
      salons: open.map(({ id, name }) => ({ id, name })),
    });
  }

  /** By name; those who left come last. */
  staff(salonId: string): Promise<Staff[]> {
    return this.once(`staff ${salonId}`, () =>
      this.reader.manager.find(Staff, {
        where: { salonId },
        order: { active: 'DESC', name: 'ASC', id: 'ASC' },
      }),
    );
  }

  /** One of this salon's people, who may have left. Throws STAFF.NOT_FOUND. */
  async member(salonId: string, staffId: string): Promise<Staff> {
    const staff = await this.reader.manager.findOneBy(Staff, { id: staffId, salonId });
    if (!staff) throw DomainError.notFound('STAFF.NOT_FOUND', STAFF.name);
    return staff;
  }

  /** One of this salon's services, which may be offered no more. Throws SERVICE.NOT_FOUND. */
  async service(salonId: string, serviceId: string): Promise<Service> {
    const service = await this.reader.manager.findOneBy(Service, { id: serviceId, salonId });
    if (!service) throw DomainError.notFound('SERVICE.NOT_FOUND', SERVICE.name);
    return service;
  }

  /** Who a signed-in account is in the salon, or null when it is nobody's. */
  staffOf(accountId: string): Promise<Staff | null> {
    return this.once(`account ${accountId}`, () => this.reader.manager.findOneBy(Staff, { accountId }));
  }

  /** By name; those no longer offered come last. */
  services(salonId: string): Promise<Service[]> {
    return this.once(`services ${salonId}`, () =>
      this.reader.manager.find(Service, {
        where: { salonId },
        order: { active: 'DESC', name: 'ASC', id: 'ASC' },
      }),
    );
  }

  hours(salonId: string): Promise<OpeningHours[]> {
    return this.reader.manager.find(OpeningHours, {
      where: { salonId },
      order: { weekday: 'ASC', opensAt: 'ASC' },
    });
  }

  rota(staffId: string): Promise<RotaEntry[]> {
    return this.reader.manager.find(RotaEntry, {
      where: { staffId },
      order: { weekday: 'ASC', startsAt: 'ASC' },
    });
  }

  /** Closures that touch the days `from` to `to`, both included. */
  closures(salonId: string, from: string, to: string): Promise<Closure[]> {
    return this.reader.manager.find(Closure, {
      where: { salonId, startsOn: LessThanOrEqual(to), endsOn: MoreThanOrEqual(from) },
      order: { startsOn: 'ASC', id: 'ASC' },
    });
  }

  async add(input: unknown, actor: Actor): Promise<Salon> {
    const checked = await this.checkedSalon(input);
    return await this.units.run(async (manager) => {
      const salon = manager.create(Salon, { id: newId(), ...checked });
      await manager.save(salon);
      await this.record(manager, actor, 'salon.add', 'salon', salon.id);
      return salon;
    });
  }

  /** Another salon of the same owner; what is left out, but name, address, phone, mail and zone, is as in this one. */
  async addLike(salonId: string, input: unknown, actor: Actor): Promise<Salon> {
    const { units, currency, locale, phoneRegion, skinTestValidDays, cancelNoticeHours } =
      await this.get(salonId);
    const usual = { units, currency, locale, phoneRegion, skinTestValidDays, cancelNoticeHours };
    return await this.add({ ...usual, ...given(input) }, actor);
  }

  /** Fields that are left out stay as they are. Moving the zone moves no booking: their instants stay. */
  async change(salonId: string, input: unknown, actor: Actor): Promise<Salon> {
    return await this.units.run(async (manager) => {
      const now = await loadForEdit(manager, Salon, salonId, SALON);
      const { id, version, ...kept } = now;
      const { expectedVersion, ...checked } = await this.checkedSalon({ ...kept, ...given(input) });
      const salon = await loadForEdit(manager, Salon, id, SALON, expectedVersion);
      await manager.save(Object.assign(salon, checked));
      await this.record(manager, actor, 'salon.change', 'salon', id);
      return salon;
    });
  }

  /** Replaces the week's opening hours. */
  async setHours(salonId: string, input: unknown, actor: Actor): Promise<void> {
    const { entries } = await validated(HoursInput, input);
    requireTidyWeek(
      'SALON.HOURS_INVALID',
      entries.map(({ weekday, opensAt, closesAt }) => ({ weekday, from: opensAt, to: closesAt })),
      'closesAt',
    );
    await this.units.run(async (manager) => {
      await loadForEdit(manager, Salon, salonId, SALON);
      await manager.delete(OpeningHours, { salonId });
      await manager.insert(
        OpeningHours,
        entries.map(({ weekday, opensAt, closesAt }) => ({
          id: newId(),
          salonId,
          weekday,
          opensAt,
          closesAt,
        })),
      );
      await this.record(manager, actor, 'salon.hours', 'salon', salonId);
    });
  }

  async addStaff(salonId: string, input: unknown, actor: Actor): Promise<Staff> {
    const { expectedVersion: _, ...checked } = await validated(StaffInput, given(input));
    return await this.units.run(async (manager) => {
      await loadForEdit(manager, Salon, salonId, SALON);
      const staff = manager.create(Staff, { id: newId(), salonId, ...checked });
      await this.requireFreeAccount(manager, staff);
      await manager.save(staff);
      await this.record(manager, actor, 'staff.add', 'staff', staff.id);
      return staff;
    });
  }

  /** Fields that are left out stay as they are. Somebody who leaves keeps the bookings until the desk moves them. */
  async changeStaff(staffId: string, input: unknown, actor: Actor): Promise<Staff> {
    return await this.units.run(async (manager) => {
      const now = await loadForEdit(manager, Staff, staffId, STAFF);
      const { id, version, salonId, ...kept } = now;
      const { expectedVersion, ...checked } = await validated(StaffInput, { ...kept, ...given(input) });
      const staff = await loadForEdit(manager, Staff, id, STAFF, expectedVersion);
      Object.assign(staff, checked);
      await this.requireFreeAccount(manager, staff);
      await manager.save(staff);
      await this.record(manager, actor, 'staff.change', 'staff', id);
      return staff;
    });
  }

  async addService(salonId: string, input: unknown, actor: Actor): Promise<Service> {
    const { expectedVersion: _, ...checked } = await this.checkedService(input);
    return await this.units.run(async (manager) => {
      await loadForEdit(manager, Salon, salonId, SALON);
      const service = manager.create(Service, { id: newId(), salonId, ...checked });
      await manager.save(service);
      await this.record(manager, actor, 'service.add', 'service', service.id);
      return service;
    });
  }

  /** Fields that are left out stay as they are; what is already booked keeps its length. */
  async changeService(serviceId: string, input: unknown, actor: Actor): Promise<Service> {
    return await this.units.run(async (manager) => {
      const now = await loadForEdit(manager, Service, serviceId, SERVICE);
      const { id, version, salonId, ...kept } = now;
      const { expectedVersion, ...checked } = await this.checkedService({ ...kept, ...given(input) });
      const service = await loadForEdit(manager, Service, id, SERVICE, expectedVersion);
      await manager.save(Object.assign(service, checked));
      await this.record(manager, actor, 'service.change', 'service', id);
      return service;
    });
  }

  /** Replaces a stylist's week. Bookings made under the old one stay. Throws ROTA.INVALID naming the stretch. */
  async setRota(staffId: string, input: unknown, actor: Actor): Promise<void> {
    const { entries } = await validated(WeekInput, input);
    requireTidyWeek(
      'ROTA.INVALID',
      entries.map(({ weekday, startsAt, endsAt }) => ({ weekday, from: startsAt, to: endsAt })),
      'endsAt',
    );
    await this.units.run(async (manager) => {
      await loadForEdit(manager, Staff, staffId, STAFF);
      await manager.delete(RotaEntry, { staffId });
      await manager.insert(
        RotaEntry,
        entries.map(({ weekday, startsAt, endsAt }) => ({ id: newId(), staffId, weekday, startsAt, endsAt })),
      );
      await this.record(manager, actor, 'staff.rota', 'staff', staffId);
    });
  }

  async addClosure(salonId: string, input: unknown, actor: Actor): Promise<Closure> {
    const checked = await validated(ClosureInput, given(input));
    if (checked.endsOn < checked.startsOn) {
      throw DomainError.invalid(
        'CLOSURE.ENDS_BEFORE_START',
        'endsOn',
        `The last day must not be earlier than the first, ${checked.startsOn}.`,
      );
    }
    return await this.units.run(async (manager) => {
      await loadForEdit(manager, Salon, salonId, SALON);
      if (checked.staffId !== null && !(await manager.existsBy(Staff, { id: checked.staffId, salonId }))) {
        throw DomainError.invalid(
          'CLOSURE.NO_SUCH_STAFF',
          'staffId',
          'Choose one of this salon’s staff, or nobody.',
        );
      }
      const closure = manager.create(Closure, { id: newId(), salonId, ...checked });
      await manager.insert(Closure, closure);
      await this.record(manager, actor, 'closure.add', 'closure', closure.id);
      return closure;
    });
  }

  /** Throws CLOSURE.NOT_FOUND. */
  async removeClosure(closureId: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const { affected } = await manager.delete(Closure, { id: closureId });
      if (!affected) throw DomainError.notFound('CLOSURE.NOT_FOUND', 'closure');
      await this.record(manager, actor, 'closure.remove', 'closure', closureId);
    });
  }

  private once<T>(question: string, ask: () => Promise<T>): Promise<T> {
    const asked = this.asked.value;
    if (!asked) return ask();
    const answer = (asked.get(question) ?? ask()) as Promise<T>;
    asked.set(question, answer);
    return answer;
  }

  private async checkedSalon(input: unknown): Promise<SalonInput> {
    const salon = await validated(SalonInput, given(input));
    const phone = toE164(salon.phone, salon.phoneRegion);
    if (phone === undefined) {
      throw DomainError.invalid(
        'SALON.PHONE_INVALID',
        'phone',
        'That cannot be a phone number. Give all its digits, with +country code if it is from abroad.',
      );
    }
    return Object.assign(salon, { phone });
  }

  private async checkedService(input: unknown): Promise<ServiceInput> {
    const service = await validated(ServiceInput, given(input));
    if (service.kind === 'tidy' && service.zones.length === 0) {
      throw DomainError.invalid('SERVICE.ZONES_MISSING', 'zones', 'Say which zones this tidy cuts.');
    }
    if (service.kind !== 'tidy' && service.zones.length > 0) {
      throw DomainError.invalid(
        'SERVICE.ZONES_NOT_MEANT',
        'zones',
        'Only a tidy names zones. Leave them out, or make this service a tidy.',
      );
    }
    requireSteps(service);
    return service;
  }

  private async requireFreeAccount(manager: EntityManager, staff: Staff): Promise<void> {
    if (staff.accountId === null) return;
    if (!(await manager.existsBy(Account, { id: staff.accountId }))) {
      throw DomainError.invalid('STAFF.NO_SUCH_ACCOUNT', 'accountId', 'Choose one of the accounts, or none.');
    }
    const holder = await manager.findOneBy(Staff, { accountId: staff.accountId });
    if (holder && holder.id !== staff.id) {
      const message = `That account already belongs to ${holder.name}. Choose another, or free it there first.`;
      throw new DomainError('conflict', 'STAFF.ACCOUNT_TAKEN', message, [{ field: 'accountId', message }]);
    }
  }

  private record(
    manager: EntityManager,
    actor: Actor,
    action: string,
    subjectKind: string,
    subjectId: string,
  ): Promise<void> {
    return this.audit.record(manager, actor, { action, subjectKind, subjectId });
  }
}
