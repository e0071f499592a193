/** Name of the queue in Redis. */
export const MESSAGE_QUEUE = 'halfinch-messages';
