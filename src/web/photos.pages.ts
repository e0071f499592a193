import { Body, Controller, Get, Param, Post, Query, UploadedFile, UseFilters } from '@nestjs/common';
import type { UploadedMultipartFile } from '@nestjs/platform-fastify/multipart';
import { Clients } from '../clients/index.js';
import { type Visit, Visits } from '../cuts/index.js';
import { Call, Called, leaveNotice, Needs, PHOTO_FIELD, renderPage, TakesPhoto } from '../http/index.js';
import { type PhotoPair, type PhotoRecord, Photos } from '../photos/index.js';
import { Reader } from '../store/index.js';
import { dayText, type Spoken } from './days.js';
import { openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { FIRST_PHOTO, PhotoFormFilter, PhotoGallery, photoView } from './photo-gallery.js';
import { nameOf } from './words.js';

/** Photographs of visits: added with a plain form, looked at by visit, and set side by side. */
@Needs('cut.read')
@Controller()
export class PhotosPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly visits: Visits,
    private readonly photos: Photos,
    private readonly gallery: PhotoGallery,
  ) {}

  @Get('clients/:id/photos')
  async ofClient(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { spoken } = await this.front.setting(call.principal);
    const name = nameOf(await this.clients.get(id));
    const visits = await this.visits.ofClient(this.reader.manager, id);
    const photos = await this.photos.ofClient(id);
    const sittings = visits.map((visit) => ({
      id: visit.id,
      on: dayText(visit.visitOn, spoken),
      photos: photos
        .filter(({ visitId }) => visitId === visit.id)
        .map((photo) => photoView(photo, visit.visitOn, spoken)),
    }));
    await renderPage(call, 'photos', {
      heading: `Photos of ${name}`,
      id,
      name,
      pictured: sittings.filter((one) => one.photos.length > 0),
      bare: sittings.filter((one) => one.photos.length === 0),
      chairside: true,
    });
  }

  @Get('visits/:id/photos')
  async ofVisit(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.gallery.show(call, id, openForm(FIRST_PHOTO));
  }

  @Post('visits/:id/photos')
  @Needs('cut.write')
  @TakesPhoto()
  @UseFilters(PhotoFormFilter)
  async add(
    @Called() call: Call,
    @Param('id') id: string,
    @Body() body: unknown,
    @UploadedFile() file?: UploadedMultipartFile,
  ): Promise<void> {
    // Words in the picture's field are no picture.
    const { [PHOTO_FIELD]: _, ...given } = typedValues(body);
    const { angle, moment } = await this.photos.add({ ...given, visitId: id }, file?.buffer, call.actor);
    leaveNotice(call, `The photo is kept: ${angle}, ${moment}.`);
    await call.redirectTo(`/visits/${id}/photos`);
  }

  @Get('visits/:id/compare')
  async compare(
    @Called() call: Call,
    @Param('id') id: string,
    @Query('against') against?: string,
  ): Promise<void> {
    const { spoken } = await this.front.setting(call.principal);
    const other = typeof against === 'string' && against !== '' && against !== id ? against : undefined;
    const pairs = await this.photos.pairs(id, other);
    const [photo] = await this.photos.ofVisit(id);
    const visits = photo ? await this.visits.ofClient(this.reader.manager, photo.clientId) : [];
    await renderPage(call, 'photos-compare', {
      heading: photo
        ? `Before and after of ${nameOf(await this.clients.get(photo.clientId))}`
        : 'Before and after',
      visitId: id,
      pairs: pairs.map((pair) => pairView(pair, visits, spoken)),
      chairside: true,
    });
  }

  @Get('photos/:id/image')
  async image(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { data } = await this.photos.read(id);
    await call.reply
      .header('content-type', 'image/jpeg')
      .header('cache-control', 'private, no-store')
      .header('content-disposition', 'inline')
      .send(data);
  }

  @Post('photos/:id/remove')
  @Needs('cut.write')
  async remove(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { photo } = await this.photos.read(id);
    await this.photos.remove(id, call.actor);
    leaveNotice(call, `The photo is gone for good: ${photo.angle}, ${photo.moment}.`);
    await call.redirectTo(`/visits/${photo.visitId}/photos`);
  }
}

function pairView(pair: PhotoPair<PhotoRecord>, visits: readonly Visit[], spoken: Spoken) {
  const one = (photo: PhotoRecord | null) => {
    const visitOn = visits.find(({ id }) => id === photo?.visitId)?.visitOn;
    return photo && visitOn ? { ...photoView(photo, visitOn, spoken), on: dayText(visitOn, spoken) } : null;
  };
  return { angle: pair.angle, before: one(pair.before), after: one(pair.after) };
}
