/** Style sheets are taken in by the bundler; nothing is imported from them. */
declare module '*.css';
