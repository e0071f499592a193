import { Records1764061200000 } from './1764061200000-records.js';

/** In the order they run. A landed migration is never edited. */
export const MIGRATIONS = [Records1764061200000];
