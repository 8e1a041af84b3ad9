import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { ASSUMED_WATER_C } from '../../calc/circuit/balance.ts';
import { TRUTH_FILE } from '../../calc/drive/truth.ts';
import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { waterDensity_kg_m3 } from '../../calc/suspension/water.ts';
import type { FolderContent, FolderRows, RowCells } from './content.ts';
import { DRIVE_FILE, type DriveFile, readDriveFile } from './drivefile.ts';
import { FaultList } from './faultlist.ts';
import { readSheetFile, SHEET_FILES } from './sheetfile.ts';
import { HAND_FILE_LIMITS, type HandFileLimits } from './textfile.ts';

const LOGGER_FILE = /^logger.*\.(csv|parquet)$/iu;

/**
 * Reads a plain folder: drive.json and the sheets' CSV files, parsed and checked, all faults at once,
 * each naming file, row, column, value and what was expected. Logger files (`logger*.csv`, `logger*.parquet`) are named,
 * not read. Rows with a stop fault are left out and counted. `impossible` if drive.json or rings.csv
 * is missing or cannot be used, or a file present cannot be read at all.
 */
export async function readFolder(
	folder: string,
	limits: HandFileLimits = HAND_FILE_LIMITS,
): Promise<FolderContent> {
	const faults = new FaultList();
	let names: string[];
	try {
		names = (await readdir(folder, { withFileTypes: true }))
			.filter((entry) => !entry.isDirectory())
			.map((entry) => entry.name)
			.sort((a, b) => (a < b ? -1 : 1));
	} catch (error) {
		const code = (error as NodeJS.ErrnoException).code ?? 'unknown reason';
		faults.add(
			stopFault('folder_unreadable', `The folder cannot be read (${code}).`, {
				expected: `a folder with ${DRIVE_FILE} and rings.csv`,
			}),
		);
		return contentOf({ cells: {}, invented: false, unusable: true }, null, [], faults, true);
	}

	const drive = await readDriveFile(folder, limits, faults);
	const rings = await readSheetFile({ folder, sheet: 'rings', limits, faults });
	if (!rings.present)
		faults.add(
			stopFault('file_missing', 'rings.csv is missing.', {
				file: SHEET_FILES.rings,
				expected: 'a file rings.csv in the folder',
			}),
		);
	const ground = await readSheetFile({ folder, sheet: 'ground', limits, faults });
	const meters = await readSheetFile({ folder, sheet: 'meters', limits, faults });
	const bypass_decisions = await readSheetFile({
		folder,
		sheet: 'bypass_decisions',
		limits,
		faults,
	});
	const mode_overrides = await readSheetFile({ folder, sheet: 'mode_overrides', limits, faults });
	const formulas = await readSheetFile({ folder, sheet: 'formulas', limits, faults });
	const columnLimits = await readSheetFile({ folder, sheet: 'limits', limits, faults });
	const readings = await readSheetFile({
		folder,
		sheet: 'readings',
		limits,
		faults,
		checkAlso: aboveWater(drive.cells),
	});
	for (const name of names) {
		if (isStray(name) && !(drive.invented && name === TRUTH_FILE))
			faults.add(
				noteFault('file_unknown', 'This file is not part of the plain folder; it is not taken.', {
					file: name,
				}),
			);
	}
	const sheets = [
		rings,
		ground,
		readings,
		meters,
		bypass_decisions,
		mode_overrides,
		formulas,
		columnLimits,
	];
	return contentOf(
		drive,
		{
			rings: rings.rows,
			ground: ground.rows,
			readings: readings.rows,
			meters: meters.rows,
			bypass_decisions: bypass_decisions.rows,
			mode_overrides: mode_overrides.rows,
			formulas: formulas.rows,
			limits: columnLimits.rows,
			utcOffset_min: sheets.find((sheet) => sheet.utcOffset_min !== null)?.utcOffset_min ?? 0,
			faultyRows: sheets.reduce((sum, sheet) => sum + sheet.faultyRows, 0),
		},
		names.filter((name) => LOGGER_FILE.test(name)).map((name) => join(folder, name)),
		faults,
		drive.unusable || !rings.present || sheets.some((sheet) => sheet.unusable),
	);
}

type Lists = Omit<FolderRows, 'drive' | 'invented'> & { readonly faultyRows: number };

function contentOf(
	drive: DriveFile,
	lists: Lists | null,
	loggerFiles: readonly string[],
	faults: FaultList,
	impossible: boolean,
): FolderContent {
	return {
		drive: drive.cells,
		invented: drive.invented,
		...(lists ?? {
			rings: [],
			ground: [],
			readings: [],
			meters: [],
			bypass_decisions: [],
			mode_overrides: [],
			formulas: [],
			limits: [],
			utcOffset_min: 0,
			faultyRows: 0,
		}),
		loggerFiles,
		faults: faults.listed,
		moreFaults: faults.more,
		stopped: faults.stops > 0,
		impossible,
	};
}

/** Tables of figures that nobody asked for; letters, pictures and the like are the site's own business. */
function isStray(name: string): boolean {
	if (LOGGER_FILE.test(name) || name === DRIVE_FILE) return false;
	return (
		/\.(csv|json|tsv|xlsx?)$/iu.test(name) && !Object.values<string>(SHEET_FILES).includes(name)
	);
}

/** No suspension is lighter than the water it is made with; such a reading is a meter's or a writer's mistake. */
function aboveWater(drive: RowCells): (cells: RowCells) => Fault[] {
	const temperature = drive.water_temperature_c;
	const salinity = drive.water_salinity_g_kg;
	const temperature_c = typeof temperature === 'number' ? temperature : ASSUMED_WATER_C;
	const salinity_g_kg = typeof salinity === 'number' ? salinity : 0;
	const water_t_m3 = waterDensity_kg_m3(temperature_c, salinity_g_kg) / 1000;
	// A mud balance is read to 0.01 t/m³: clean water read on it must not be refused (ISO 10414-1).
	const least_t_m3 = Math.floor(water_t_m3 * 100) / 100;
	return (cells) =>
		(['feed_density_t_m3', 'return_density_t_m3'] as const).flatMap((column) => {
			const density = cells[column];
			if (typeof density !== 'number' || density >= least_t_m3) return [];
			return [
				stopFault(
					'density_below_water',
					`The density is below that of the base water, ${water_t_m3.toFixed(4)} t/m³ at ${temperature_c} °C and ${salinity_g_kg} g/kg salt.`,
					{
						column,
						value: String(density),
						expected: `${least_t_m3.toFixed(2)} t/m³ or more, a mud balance being read to 0.01`,
					},
				),
			];
		});
}
