import { Injectable } from '@nestjs/common';
import { DomainError, given, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { ResourceInput } from './dto.js';
import { Resource, Salon } from './entities.js';

const RESOURCE = { code: 'RESOURCE', name: 'chair, basin or room' };

/** The salon's chairs, basins and rooms. */
@Injectable()
export class Resources {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly audit: Audit,
  ) {}

  /** By kind, then name; those out of use come last. */
  of(salonId: string): Promise<Resource[]> {
    return this.reader.manager.find(Resource, {
      where: { salonId },
      order: { active: 'DESC', kind: 'ASC', name: 'ASC', id: 'ASC' },
    });
  }

  /** One of this salon's. Throws RESOURCE.NOT_FOUND. */
  async get(salonId: string, resourceId: string): Promise<Resource> {
    const resource = await this.reader.manager.findOneBy(Resource, { id: resourceId, salonId });
    if (!resource) throw DomainError.notFound('RESOURCE.NOT_FOUND', RESOURCE.name);
    return resource;
  }

  /** `input` is a ResourceInput. Throws INPUT.INVALID, SALON.NOT_FOUND. */
  async add(salonId: string, input: unknown, actor: Actor): Promise<Resource> {
    const { expectedVersion: _, ...checked } = await validated(ResourceInput, given(input));
    return await this.units.run(async (manager) => {
      if (!(await manager.existsBy(Salon, { id: salonId }))) {
        throw DomainError.notFound('SALON.NOT_FOUND', 'salon');
      }
      const resource = manager.create(Resource, { id: newId(), salonId, ...checked });
      await manager.save(resource);
      await this.audit.record(manager, actor, {
        action: 'resource.add',
        subjectKind: 'resource',
        subjectId: resource.id,
      });
      return resource;
    });
  }

  /** Fields that are left out stay as they are. What is booked on it stays booked. */
  async change(resourceId: string, input: unknown, actor: Actor): Promise<Resource> {
    return await this.units.run(async (manager) => {
      const now = await loadForEdit(manager, Resource, resourceId, RESOURCE);
      const { id, version, salonId, ...kept } = now;
      const { expectedVersion, ...checked } = await validated(ResourceInput, { ...kept, ...given(input) });
      const resource = await loadForEdit(manager, Resource, id, RESOURCE, expectedVersion);
      await manager.save(Object.assign(resource, checked));
      await this.audit.record(manager, actor, {
        action: 'resource.change',
        subjectKind: 'resource',
        subjectId: id,
      });
      return resource;
    });
  }
}
