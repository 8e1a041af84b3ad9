/** Style sheets are taken in by the bundler; nothing is imported from them. */
declare module '*.css';

/** Pictures become files of the page; what is imported is their address. */
declare module '*.svg' {
	const address: string;
	export default address;
}
