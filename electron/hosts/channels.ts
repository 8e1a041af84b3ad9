/** Names of the two channels between main process and page; only the gateway and the preload use them. */
export const CALL_CHANNEL = 'desk.call';
export const EVENT_CHANNEL = 'desk.event';
