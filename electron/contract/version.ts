/**
 * Raise it when a shape of the contract changes: a page from another version is told to reload.
 * In a file of its own, so that a page can name its version without loading the parsers.
 */
export const CONTRACT_VERSION = 3;
