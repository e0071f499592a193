import type { OpenAPIObject } from '@nestjs/swagger';

/** Made-up ids that stand for what exists already; whoever tries an example puts ids of her own in their place. */
export const EXAMPLE_IDS = {
  client: '0193f2a0-0000-7000-8000-000000000001',
  staff: '0193f2a0-0000-7000-8000-000000000002',
  service: '0193f2a0-0000-7000-8000-000000000003',
} as const;

const { client: clientId, staff: staffId, service: serviceId } = EXAMPLE_IDS;
const SITTING = { clientId, staffId, serviceId };

const CROP = {
  name: 'Clipped back and sides',
  steps: [
    {
      zone: 'nape',
      method: 'clipper-guard',
      lengthAtGuideMm: 6,
      technique: 'clipper-over-comb',
      tool: 'guard 2',
    },
    {
      zone: 'back',
      method: 'travelling-guide',
      section: 'vertical',
      elevationDeg: 75,
      guide: 'travelling',
      lengthAtGuideMm: 25,
      sectionDepthMm: 20,
      technique: 'club',
    },
  ],
  lengths: [
    { zone: 'nape', leftMm: 6, leftSdMm: 1 },
    { zone: 'back', leftMm: 25 },
  ],
};

/**
 * What may be sent, by method and path. `test/integration/api-examples.spec.ts` sends every one of them on 1 June 2026
 * and holds the answers against the description.
 */
const EXAMPLES: Readonly<Record<string, object>> = {
  'POST /api/v1/clients': {
    givenName: 'Odile',
    familyName: 'Brackwater',
    phone: '+44 7700 900123',
    email: 'odile@example.org',
    birthday: '1984-05-27',
    statedHair: { texture: 'straight' },
  },
  'PUT /api/v1/clients/{id}': { expectedVersion: 1, knownAs: 'Odi', notes: 'Tea without milk.' },
  'POST /api/v1/clients/{id}/consents': { channel: 'mail', purpose: 'appointment', given: true },
  'POST /api/v1/clients/{id}/consultations': {
    staffId,
    wantedShape: 'Shorter at the nape, the weight kept at the occipital bone',
    dailyEffortMinutes: 5,
    density: 'medium',
  },
  'POST /api/v1/clients/{id}/skin-tests': {
    productLine: 'Maker A permanent',
    place: 'behind the left ear',
    appliedById: staffId,
  },
  'POST /api/v1/clients/{id}/safety-notes': {
    kind: 'colour-reaction',
    told: 'Itched for a day after a colour in 2024.',
  },
  'POST /api/v1/appointments': { ...SITTING, date: '2026-06-17', time: '10:00' },
  'POST /api/v1/appointments/{id}/move': { date: '2026-06-18', time: '11:30' },
  'POST /api/v1/appointments/{id}/cancellation': {},
  'POST /api/v1/visits': { ...SITTING, formula: CROP },
  'POST /api/v1/waiting': {
    clientId,
    serviceId,
    fromDate: '2026-06-08',
    toDate: '2026-06-20',
    weekdays: [2, 4],
    timeFrom: '16:00',
  },
  'POST /api/v1/walk-ins': { clientId, serviceId },
  'POST /api/v1/clients/{id}/not-now': { reason: 'no-diary' },
  'POST /api/v1/services': {
    name: 'Fringe tidy',
    kind: 'tidy',
    zones: ['fringe'],
    minutes: 15,
    priceMinor: 1200,
  },
  'POST /api/v1/resources': { kind: 'wash-basin', name: 'Basin by the window' },
  'PUT /api/v1/staff/{id}/rota-changes': {
    onDate: '2026-06-19',
    entries: [{ startsAt: '10:00', endsAt: '14:00' }],
  },
  'POST /api/v1/tokens': { name: 'Till', scopes: ['client.read', 'book.read'], days: 90 },
};

/** Puts the examples where the description tells of a request's body. Throws where there is no such request. */
export function addExamples(paths: OpenAPIObject['paths']): void {
  for (const [request, example] of Object.entries(EXAMPLES)) {
    const [method = '', path = ''] = request.split(' ');
    const operation = paths[path]?.[method.toLowerCase() as 'post'];
    if (!operation) throw new Error(`There is no ${request} to give an example of.`);
    const described = operation.requestBody as { content?: object } | undefined;
    const json = (described?.content as Record<string, object> | undefined)?.['application/json'] ?? {};
    operation.requestBody = { ...described, content: { 'application/json': { ...json, example } } };
  }
}
