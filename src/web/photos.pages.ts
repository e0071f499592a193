import {
  Body,
  Controller,
  Get,
  Param,
  Post,
  Query,
  Req,
  Res,
  UploadedFile,
  UseFilters,
} from '@nestjs/common';
import type { UploadedMultipartFile } from '@nestjs/platform-fastify/multipart';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clients } from '../clients/index.js';
import { type Visit, Visits } from '../cuts/index.js';
import { By, leaveNotice, Needs, PHOTO_FIELD, renderPage, TakesPhoto, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
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
  async ofClient(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
  ): Promise<void> {
    const { spoken } = await this.front.setting(principal);
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
    await renderPage(request, reply, 'photos', {
      heading: `Photos of ${name}`,
      id,
      name,
      pictured: sittings.filter((one) => one.photos.length > 0),
      bare: sittings.filter((one) => one.photos.length === 0),
      chairside: true,
    });
  }

  @Get('visits/:id/photos')
  async ofVisit(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('id') id: string,
  ): Promise<void> {
    await this.gallery.show(request, reply, id, openForm(FIRST_PHOTO));
  }

  @Post('visits/:id/photos')
  @Needs('cut.write')
  @TakesPhoto()
  @UseFilters(PhotoFormFilter)
  async add(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
    @UploadedFile() file?: UploadedMultipartFile,
  ): Promise<void> {
    // Words in the picture's field are no picture.
    const { [PHOTO_FIELD]: _, ...given } = typedValues(body);
    const { angle, moment } = await this.photos.add({ ...given, visitId: id }, file?.buffer, actor);
    leaveNotice(request, reply, `The photo is kept: ${angle}, ${moment}.`);
    await reply.redirect(`/visits/${id}/photos`, 303);
  }

  @Get('visits/:id/compare')
  async compare(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
    @Query('against') against?: string,
  ): Promise<void> {
    const { spoken } = await this.front.setting(principal);
    const other = typeof against === 'string' && against !== '' && against !== id ? against : undefined;
    const pairs = await this.photos.pairs(id, other);
    const [photo] = await this.photos.ofVisit(id);
    const visits = photo ? await this.visits.ofClient(this.reader.manager, photo.clientId) : [];
    await renderPage(request, reply, 'photos-compare', {
      heading: photo
        ? `Before and after of ${nameOf(await this.clients.get(photo.clientId))}`
        : 'Before and after',
      visitId: id,
      pairs: pairs.map((pair) => pairView(pair, visits, spoken)),
      chairside: true,
    });
  }

  @Get('photos/:id/image')
  async image(@Param('id') id: string, @Res() reply: FastifyReply): Promise<void> {
    const { data } = await this.photos.read(id);
    await reply
      .header('content-type', 'image/jpeg')
      .header('cache-control', 'private, no-store')
      .header('content-disposition', 'inline')
      .send(data);
  }

  @Post('photos/:id/remove')
  @Needs('cut.write')
  async remove(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    const { photo } = await this.photos.read(id);
    await this.photos.remove(id, actor);
    leaveNotice(request, reply, `The photo is gone for good: ${photo.angle}, ${photo.moment}.`);
    await reply.redirect(`/visits/${photo.visitId}/photos`, 303);
  }
}

function pairView(pair: PhotoPair<PhotoRecord>, visits: readonly Visit[], spoken: Spoken) {
  const one = (photo: PhotoRecord | null) => {
    const visitOn = visits.find(({ id }) => id === photo?.visitId)?.visitOn;
    return photo && visitOn ? { ...photoView(photo, visitOn, spoken), on: dayText(visitOn, spoken) } : null;
  };
  return { angle: pair.angle, before: one(pair.before), after: one(pair.after) };
}
