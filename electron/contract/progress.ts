/** What a `progress` event is about while it counts rows of logger files: a page shows their pace. */
export const READING_LOGGER = 'reading the logger';
