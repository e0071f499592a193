import { Records1764061200000 } from './1764061200000-records.js';
import { Messages1764072000000 } from './1764072000000-messages.js';

/** In the order they run. A landed migration is never edited. */
export const MIGRATIONS = [Records1764061200000, Messages1764072000000];
