import { type ArgumentsHost, Catch, Injectable } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { Visit, Visits } from '../cuts/index.js';
import { Call, ErrorFilter, problemOf, renderPage } from '../http/index.js';
import { PHOTO_ANGLES, type PhotoRecord, Photos } from '../photos/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { dayText, type Spoken, shortDay } from './days.js';
import { type FormState, refusedForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { nameOf, optionsOf } from './words.js';

const ANGLES = optionsOf(Object.fromEntries(PHOTO_ANGLES.map((angle) => [angle, angle])));
const MOMENTS = optionsOf({ before: 'before, on arrival', after: 'after, when done' });

/** What a new photograph's form starts from. */
export const FIRST_PHOTO = { photo: '', angle: '', moment: 'after' } as const;

/** One photograph as a page shows it. */
export function photoView(photo: PhotoRecord, visitOn: string, spoken: Spoken) {
  const { id, angle, moment, widthPx, heightPx } = photo;
  return {
    id,
    angle,
    moment,
    widthPx,
    heightPx,
    words: `${angle}, ${moment}`,
    alt: `${angle}, ${moment}, visit of ${shortDay(visitOn, spoken)}`,
  };
}

/** Shows the photographs of one visit with the form that adds to them. */
@Injectable()
export class PhotoGallery {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly visits: Visits,
    private readonly photos: Photos,
  ) {}

  /** Throws VISIT.NOT_FOUND. */
  async show(call: Call, visitId: string, form: FormState): Promise<void> {
    const { principal } = call.request;
    if (!principal) throw new DomainError('forbidden', 'SIGN_IN.NEEDED', 'Please sign in first.');
    const visit = await this.reader.manager.findOneBy(Visit, { id: visitId });
    if (!visit) throw DomainError.notFound('VISIT.NOT_FOUND', 'visit');
    const { salon, spoken } = await this.front.setting(principal);
    const name = nameOf(await this.clients.get(visit.clientId));
    const services = await this.salons.services(salon.id);
    const all = await this.photos.ofVisit(visitId);
    const others = await this.visits.ofClient(this.reader.manager, visit.clientId);
    const pictured = new Set((await this.photos.ofClient(visit.clientId)).map((photo) => photo.visitId));
    await renderPage(call, 'photos-visit', {
      heading: `Photos of ${name}, ${shortDay(visit.visitOn, spoken)}`,
      clientId: visit.clientId,
      name,
      visitId,
      on: dayText(visit.visitOn, spoken),
      service: services.find(({ id }) => id === visit.serviceId)?.name ?? '',
      photos: all.map((photo) => photoView(photo, visit.visitOn, spoken)),
      others: others
        .filter(({ id }) => id !== visitId && pictured.has(id))
        .map(({ id, visitOn }) => ({ value: id, label: dayText(visitOn, spoken) })),
      form,
      angles: ANGLES,
      moments: MOMENTS,
      chairside: true,
    });
  }
}

/**
 * A refused picture shows its form again: the parser refuses before any handler is called, so the form has to be shown
 * from here. All else is left to the error page.
 */
@Catch()
@Injectable()
export class PhotoFormFilter extends ErrorFilter {
  constructor(private readonly gallery: PhotoGallery) {
    super();
  }

  override async catch(error: unknown, host: ArgumentsHost): Promise<void> {
    const problem = problemOf(error);
    if (problem.status !== 422 && problem.status !== 409) return await super.catch(error, host);
    const http = host.switchToHttp();
    const request = http.getRequest<FastifyRequest<{ Params: { id: string } }>>();
    const reply = http.getResponse<FastifyReply>();
    const values = { ...FIRST_PHOTO, ...typedValues(request.body) };
    try {
      const form = refusedForm(values, problem);
      const call = new Call(request, reply).status(problem.status);
      await this.gallery.show(call, request.params.id, form);
    } catch (second) {
      await super.catch(second, host);
    }
  }
}
