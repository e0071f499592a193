export { type DueClient, DueList } from './due-list.js';
export { engineLimit } from './engine-limits.js';
export { ShapeWindow } from './entities.js';
export { Windows, windowOf } from './windows.js';
