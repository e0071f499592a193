export { Consultations, type RecordedConsultation } from './consultations.js';
export { ConsultationsModule } from './consultations.module.js';
export { ConsultationDto } from './dto.js';
export { type ConsentGiven, Consultation, ConsultationHealth } from './entities.js';
export type { Contraindication, HealthFacts } from './health.js';
export * from './terms.js';
