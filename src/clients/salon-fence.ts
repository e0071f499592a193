import { Injectable, type OnModuleInit } from '@nestjs/common';
import {
  type EntityManager,
  type EntitySubscriberInterface,
  In,
  type InsertEvent,
  type LoadEvent,
  Not,
} from 'typeorm';
import { AsyncContext, DomainError } from '../base/index.js';
import { Reader, UnitOfWork } from '../store/index.js';
import { Client } from './entities.js';

/** Whose rows may be touched, and the clients that are known to be that salon's. */
type Fence = {
  readonly salonId: string;
  readonly own: Set<string>;
  /** Clients of the load that is running, by whose connection they are to be looked up. */
  readonly asked: Map<EntityManager, { readonly ids: Set<string>; readonly looked: Promise<void> }>;
};

type Owned = { readonly salonId?: string | null; readonly clientId?: string | null };

/** Ids in one statement. */
const MOST = 1000;

/**
 * Keeps whoever is bound to one salon from the rows of others, whatever id she sends: every row that is loaded or inserted
 * while `within` runs, if it says its salon or its client, must be that salon's. What only SQL counts is not seen here.
 */
@Injectable()
export class SalonFence implements EntitySubscriberInterface, OnModuleInit {
  private readonly fences = new AsyncContext<Fence>();

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
  ) {}

  async onModuleInit(): Promise<void> {
    this.reader.manager.connection.subscribers.push(this);
    await this.units.run(async (manager) => {
      manager.connection.subscribers.push(this);
    });
  }

  /** Runs `work`, and all that it begins, inside the fence of one salon. */
  within<T>(salonId: string, work: () => T): T {
    return this.fences.run({ salonId, own: new Set(), asked: new Map() }, work);
  }

  /** Throws SALON.ELSEWHERE. */
  afterLoad(row: Owned, event?: LoadEvent<unknown>): void | Promise<void> {
    const fence = this.fences.value;
    if (fence && event) return hold(fence, row, event.manager);
  }

  /** Throws SALON.ELSEWHERE. */
  beforeInsert({ entity, manager }: InsertEvent<Owned>): void | Promise<void> {
    const fence = this.fences.value;
    if (fence) return hold(fence, entity, manager);
  }
}

function hold(fence: Fence, row: Owned, manager: EntityManager): void | Promise<void> {
  const clientId = row instanceof Client ? row.id : row.clientId;
  if (typeof row.salonId === 'string') {
    if (row.salonId !== fence.salonId) throw elsewhere();
    if (row instanceof Client) fence.own.add(row.id);
  } else if (typeof clientId === 'string' && !fence.own.has(clientId)) {
    return looked(fence, clientId, manager);
  }
}

/** One look for all rows of a load, for they come one by one. */
function looked(fence: Fence, clientId: string, manager: EntityManager): Promise<void> {
  const asked = fence.asked.get(manager);
  if (asked) {
    asked.ids.add(clientId);
    return asked.looked;
  }
  const ids = new Set([clientId]);
  const look = Promise.resolve().then(async () => {
    fence.asked.delete(manager);
    for (let i = 0; i < ids.size; i += MOST) await requireOwn(fence, [...ids].slice(i, i + MOST), manager);
  });
  fence.asked.set(manager, { ids, looked: look });
  return look;
}

async function requireOwn(fence: Fence, ids: readonly string[], manager: EntityManager): Promise<void> {
  const others = await manager.existsBy(Client, { id: In(ids), salonId: Not(fence.salonId) });
  if (others) throw elsewhere();
  for (const id of ids) fence.own.add(id);
}

const elsewhere = () =>
  new DomainError('not-found', 'SALON.ELSEWHERE', 'There is no such thing in your salon.');
