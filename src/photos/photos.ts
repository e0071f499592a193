import { join } from 'node:path';
import { Inject, Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock, DomainError, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { newId, Reader, SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { NewPhotoDto } from './dto.js';
import { Photo } from './entities.js';
import { type PhotoPair, photoPairs } from './pairs.js';
import { newPhotoName, PhotoFiles } from './photo-files.js';
import { type CleanPicture, cleanPicture } from './picture.js';

const MOST_OF_A_VISIT = 24;

/** A photograph as it is shown to others: without the name of its file. */
export type PhotoRecord = Omit<Photo, 'file'>;

/** Photographs of visits, kept as files beside the database, private to those who may read cuts. */
@Injectable()
export class Photos {
  private readonly files: PhotoFiles;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    @Inject(SETTINGS) settings: Settings,
  ) {
    this.files = new PhotoFiles(join(settings.dataDir, 'photos'));
  }

  /**
   * Adds a photograph (JPEG, PNG or WebP, up to 12 MiB and 60 million pixels) to a visit. What is kept is encoded anew
   * from the pixels, upright, at most 1,600 px long, without place, time or camera. `field` is what the picture is
   * called where it came from. Throws INPUT.INVALID, PHOTO.MISSING, .TOO_LARGE, .NOT_A_PICTURE, .TOO_MANY_PIXELS,
   * .DAMAGED, VISIT.NOT_FOUND, PHOTO.TOO_MANY; then nothing is stored.
   */
  async add(input: unknown, picture: unknown, actor: Actor, field = 'photo'): Promise<PhotoRecord> {
    const given = await validated(NewPhotoDto, input);
    await requireVisit(this.reader.manager, given.visitId);
    const clean = await cleanPicture(picture, field);
    const file = newPhotoName();
    try {
      await this.files.prepare(file, clean.data);
      return await this.units.run((manager) => this.addIn(manager, given, clean, file, actor));
    } catch (error) {
      await this.files.remove(file);
      throw error;
    }
  }

  /** The photographs of a visit, newest first. Throws VISIT.NOT_FOUND. */
  async ofVisit(visitId: string): Promise<PhotoRecord[]> {
    await requireVisit(this.reader.manager, visitId);
    return (await this.rowsOf(visitId)).map(shown);
  }

  /** The client's photographs over all visits, newest first. Throws CLIENT.NOT_FOUND. */
  async ofClient(clientId: string, limit = 200): Promise<PhotoRecord[]> {
    const { manager } = this.reader;
    if (!(await manager.existsBy(Client, { id: clientId }))) {
      throw DomainError.notFound('CLIENT.NOT_FOUND', 'client');
    }
    const rows = await manager.find(Photo, { where: { clientId }, order: NEWEST_FIRST, take: limit });
    return rows.map(shown);
  }

  /**
   * Before and after by angle: within one visit, or against an earlier visit of the same client. Throws
   * VISIT.NOT_FOUND, PHOTO.OTHER_CLIENT.
   */
  async pairs(visitId: string, againstVisitId?: string): Promise<PhotoPair<PhotoRecord>[]> {
    const { manager } = this.reader;
    const visit = await requireVisit(manager, visitId);
    if (againstVisitId === undefined) return photoPairs((await this.rowsOf(visitId)).map(shown));
    const against = await requireVisit(manager, againstVisitId);
    if (against.clientId !== visit.clientId) {
      throw DomainError.invalid(
        'PHOTO.OTHER_CLIENT',
        'against',
        'against: choose another visit of the same client.',
      );
    }
    // Whichever way round they were named, the earlier one is "before".
    const [earlier, later] = [visit, against].sort((a, b) =>
      a.visitOn === b.visitOn ? a.closedAt - b.closedAt : a.visitOn < b.visitOn ? -1 : 1,
    ) as [Visit, Visit];
    return photoPairs((await this.rowsOf(later.id)).map(shown), (await this.rowsOf(earlier.id)).map(shown));
  }

  /** The picture itself, a JPEG. Throws PHOTO.NOT_FOUND, also where the file is gone from the folder. */
  async read(id: string): Promise<{ readonly photo: PhotoRecord; readonly data: Buffer }> {
    const photo = await this.reader.manager.findOneBy(Photo, { id });
    const data = photo && (await this.files.read(photo.file));
    if (!photo || !data) throw DomainError.notFound('PHOTO.NOT_FOUND', 'photo');
    return { photo: shown(photo), data };
  }

  /** Removes a photograph for good. Throws PHOTO.NOT_FOUND. */
  async remove(id: string, actor: Actor): Promise<void> {
    const file = await this.units.run(async (manager) => {
      const photo = await manager.findOneBy(Photo, { id });
      if (!photo) throw DomainError.notFound('PHOTO.NOT_FOUND', 'photo');
      await manager.delete(Photo, { id });
      await this.trail(manager, actor, 'photo.remove', photo);
      return photo.file;
    });
    // A crash in between leaves a file without a row, which the sweep takes.
    await this.files.remove(file);
  }

  /**
   * Removes files that no row knows (left by a crash, or by a client's erasure) and that are older than an hour.
   * Returns how many.
   */
  async sweep(): Promise<number> {
    return await this.units.run(async (manager) => {
      const rows = await manager.find(Photo, { select: { id: true, file: true } });
      return await this.files.sweep(new Set(rows.map(({ file }) => file)), this.clock.now());
    });
  }

  private async addIn(
    manager: EntityManager,
    { visitId, angle, moment }: NewPhotoDto,
    { data, widthPx, heightPx }: CleanPicture,
    file: string,
    actor: Actor,
  ): Promise<PhotoRecord> {
    const { clientId } = await requireVisit(manager, visitId);
    if ((await manager.countBy(Photo, { visitId })) >= MOST_OF_A_VISIT) {
      throw DomainError.invalid(
        'PHOTO.TOO_MANY',
        'visitId',
        `Visit: it has ${MOST_OF_A_VISIT} photos already. Remove one first.`,
      );
    }
    const photo = manager.create(Photo, {
      id: newId(),
      clientId,
      visitId,
      angle,
      moment,
      file,
      widthPx,
      heightPx,
      bytes: data.length,
      addedAt: this.clock.now(),
      addedById: actor.accountId,
    });
    await manager.insert(Photo, photo);
    await this.trail(manager, actor, 'photo.add', photo);
    await this.files.settle(file);
    return shown(photo);
  }

  private rowsOf(visitId: string): Promise<Photo[]> {
    return this.reader.manager.find(Photo, { where: { visitId }, order: NEWEST_FIRST });
  }

  private async trail(manager: EntityManager, actor: Actor, action: string, photo: Photo): Promise<void> {
    await this.audit.record(manager, actor, {
      action,
      subjectKind: 'client',
      subjectId: photo.clientId,
      details: { photoId: photo.id, visitId: photo.visitId, angle: photo.angle },
    });
  }
}

const NEWEST_FIRST = { addedAt: 'DESC', id: 'DESC' } as const;

function shown({ file, ...photo }: Photo): PhotoRecord {
  return photo;
}

async function requireVisit(manager: EntityManager, id: string): Promise<Visit> {
  const visit = await manager.findOneBy(Visit, { id });
  if (!visit) throw DomainError.notFound('VISIT.NOT_FOUND', 'visit');
  return visit;
}
