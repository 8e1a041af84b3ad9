import { DuckDBInstance } from '@duckdb/node-api';

// The reference as a program of its own, with nothing of ours loaded: runs the statement given as
// argument and prints its rows and the time from opening the database to the last row.
const began = performance.now();
const instance = await DuckDBInstance.create(':memory:', { autoinstall_known_extensions: 'false' });
const connection = await instance.connect();
const rows = (await connection.runAndReadAll(process.argv[2] ?? '')).getRows();
const work_ms = performance.now() - began;
process.stdout.write(
	JSON.stringify({ work_ms, rows: rows.map((row) => row.slice(1).map(Number)) }),
);
