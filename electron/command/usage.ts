/** What the headless command can do. Exit codes: 0 done, 1 the data has faults, 2 wrong use. */
export const USAGE = `Slurry Ledger, headless.

  new PROJECT --from FOLDER [--good-rows]   make a project from a plain folder; with --good-rows leave out
                                            rows that have faults
  rings PROJECT [--json | --csv]            the ring ledger: a table, JSON or CSV
  export PROJECT FOLDER                     write the project as a plain folder
  import PROJECT FILE… [--profile NAME | --map FILE.json] [--save NAME] [--conflicts WAY] [--good-rows]
                                            take logger files of any layout, CSV or Parquet, into the project;
                                            what is there already is passed over. Figures that differ refuse
                                            the import (WAY refuse), or one of the two stays (keepBefore,
                                            takeFile). Without profile or map: the profile that fits, else
                                            the plain dialect
  import PROJECT --go-on                    go on with an import that was broken off, where it stopped
  import PROJECT --discard                  remove what such an import has left, to begin another
  import PROJECT FILE --look                print how the file would be read, to put right and name with --map
  export-sheet PROJECT SHEET FILE           write a sheet (rings, ground, readings, meters, bypass_decisions,
                                            mode_overrides, ledger) as FILE.csv, FILE.xlsx or FILE.parquet
  import-sheet PROJECT SHEET FILE [--existing update|skip] [--read FILE.json] [--good-rows]
                                            take rows of a CSV or XLSX file into a sheet. Rows that are there
                                            already are updated, unless they are to be skipped; a fault refuses
                                            all, unless the good rows are to be taken
  import-sheet PROJECT SHEET FILE --look    print how the file would be read, to put right and name with --read
  check PROJECT                             check file, journal and rows
  simulate FOLDER --seed N --rings N […]    write an invented drive as a plain folder
  help                                      this text

Faults go to the error output, one a line. Exit code 0: done. 1: the data has faults, or could not be
read or written. 2: wrong use.
`;

/** What a verb ends with. */
export type ExitCode = 0 | 1 | 2;

/** Where a verb writes: results to `out`, everything else to `err`. */
export interface Streams {
	readonly out: (text: string) => void;
	readonly err: (text: string) => void;
}

/** Who runs the command, and when. */
export interface Caller {
	readonly person: string;
	readonly now_s: number;
	readonly appVersion: string;
}

export function fail({ message }: { message: string }, err: Streams['err']): ExitCode {
	err(`${message}\n`);
	return 1;
}
