import type { z } from 'zod';
import { type ModeRule, modeRuleText } from '../../../calc/circuit/moderules.ts';
import { suggestModeRules } from '../../../calc/circuit/modesuggest.ts';
import type {
	LOGGER_SHAPES,
	LoggerImported,
	LoggerInspection,
	LoggerLayout,
	PreviewField,
} from '../../../electron/contract/loggerimport.ts';
import { START_S } from '../charts/madetimeline.ts';

type Shapes = typeof LOGGER_SHAPES;
export type LoggerAnswers = {
	[V in keyof Shapes as `logger.${V}`]: (
		ask: z.infer<Shapes[V]['ask']>,
	) => z.infer<Shapes[V]['answer']>;
};

const FIELDS = [
	['Date', null, ['07.04.2031', '07.04.2031', '07.04.2031']],
	['Time', null, ['07:00:00', '07:00:01', '07:00:02']],
	['Feed flow [L/s]', 'L/s', ['272,2', '272,9', '271,4']],
	['Feed dens. [kg/m³]', 'kg/m³', ['1082', '1082', '1083']],
	['Return flow [L/s]', 'L/s', ['291,7', '292,4', '']],
	['Return dens. [kg/m³]', 'kg/m³', ['1154', '1155', '1155']],
	['Bypass valve', null, ['0', '0', '0']],
	['State', null, ['run', 'run', 'idle']],
	['Operator', null, ['A', 'A', 'B']],
] as const;

const TARGETS: LoggerInspection['targets'] = [
	{ id: 'mode', heading: 'Mode', units: [] },
	...(
		[
			['feed_flow_m3_h', 'Feed flow', ['m3/h', 'm³/h'], ['L/s', 'L/s']],
			['feed_density_t_m3', 'Feed density', ['t/m3', 't/m³'], ['kg/m3', 'kg/m³']],
			['return_flow_m3_h', 'Return flow', ['m3/h', 'm³/h'], ['L/s', 'L/s']],
			['return_density_t_m3', 'Return density', ['t/m3', 't/m³'], ['kg/m3', 'kg/m³']],
			['signal:bypassValve_1', 'Bypass valve', ['%', '%'], ['1', '0 to 1']],
		] as const
	).map(([id, heading, ...units]) => ({
		id,
		heading,
		units: units.map(([unit, label]) => ({ id: unit, label })),
	})),
];

const SUGGESTED = suggestModeRules(['bypassValve_1', 'feedFlow_m3_s']);

const ruleText = (rule: LoggerLayout['modeRules'][number]): string =>
	modeRuleText(SUGGESTED.rules.find(({ id }) => id === rule.id) ?? (rule as ModeRule));

const FACTORS: Readonly<Record<string, number>> = { 'L/s': 3.6, 'kg/m3': 0.001 };

const GUESS: LoggerLayout = {
	format: 'csv',
	delimiter: ';',
	decimal: ',',
	encoding: 'utf-8',
	headingRow: 2,
	firstRow: 3,
	time: { fields: [0, 1], format: 'dmy', zone: 'Europe/Berlin' },
	columns: [
		{ field: 2, to: 'feed_flow_m3_h', unit: 'L/s' },
		{ field: 3, to: 'feed_density_t_m3', unit: 'kg/m3' },
		{ field: 4, to: 'return_flow_m3_h', unit: 'L/s' },
		{ field: 5, to: 'return_density_t_m3', unit: 'kg/m3' },
		{ field: 6, to: 'signal:bypassValve_1', unit: '1' },
	],
	modeWords: [],
	modeRules: SUGGESTED.rules.map((rule) => ({ ...rule, when: [...rule.when] })),
};

/** A made-up desk's answers about one invented logger file; figures follow the layout asked for. */
export function madeLogger(making: {
	readonly conflicts: boolean;
	readonly kept: boolean;
	/** An import was broken off; `gone`: and its file is not there any more. */
	readonly unfinished: '' | 'there' | 'gone';
}): LoggerAnswers {
	let isLeft = making.unfinished !== '';
	const inspect = (layout: LoggerLayout, profile: string | null): LoggerInspection => {
		const number = (text: string): number =>
			Number(layout.decimal === ',' ? text.replace(',', '.') : text);
		const fields = FIELDS.map(([heading, unitRead, texts], field): PreviewField => {
			const column = layout.columns.find((each) => each.field === field);
			const factor = FACTORS[column?.unit ?? ''] ?? 1;
			const parsed = texts.map((text) => {
				if (!column || text === '') return null;
				if (column.to === 'mode')
					return layout.modeWords.find((word) => word.text === text)?.mode ?? null;
				const value = number(text);
				return Number.isNaN(value) ? null : value * factor;
			});
			const numbers = parsed.filter((value) => typeof value === 'number');
			const max = numbers.length > 0 ? Math.max(...numbers) : null;
			const doubtful = column?.to.endsWith('density_t_m3') === true && (max ?? 0) > 2;
			return {
				field,
				heading,
				unitRead,
				texts: [...texts],
				parsed,
				filled: texts.filter((text) => text !== '').length,
				read: parsed.filter((value) => value !== null).length,
				min: numbers.length > 0 ? Math.min(...numbers) : null,
				max,
				doubts: doubtful ? ['Beyond 2 t/m³: another unit is likely.'] : [],
			};
		});
		const mode = layout.columns.find(({ to }) => to === 'mode');
		const day = layout.time.format === 'dmy' && layout.time.fields.length === 2;
		return {
			files: [
				{
					placeId: 'log1',
					name: 'plant logger 2031-04-07.csv',
					bytes: 5_214_900,
					rows: 86_400,
					importedBefore: false,
				},
			],
			layout,
			profile,
			head: [
				'Invented plant logger, export 2031-04-08',
				FIELDS.map(([heading]) => heading).join(';'),
				...[0, 1, 2].map((row) => FIELDS.map(([, , texts]) => texts[row]).join(';')),
			],
			rowsLookedAt: 3,
			fields,
			time: {
				texts: [0, 1, 2].map((row) => `07.04.2031 07:00:0${row}`),
				parsed: [0, 1, 2].map((row) => (day ? START_S + row : null)),
				read: day ? 3 : 0,
				first_s: day ? START_S : null,
				last_s: day ? START_S + 2 : null,
				step_s: day ? 1 : null,
				doubts: [],
			},
			targets: TARGETS,
			zones: ['UTC', '+01:00', '+02:00', 'Europe/Berlin', 'Europe/Lisbon'],
			modes: {
				from: mode ? 'field' : layout.modeRules.length > 0 ? 'rules' : 'nothing',
				words: mode
					? ['run', 'idle'].map((text) => ({
							text,
							count: text === 'run' ? 2 : 1,
							mode: layout.modeWords.find((word) => word.text === text)?.mode ?? null,
						}))
					: [],
				rules: layout.modeRules.map((rule) => ({ id: rule.id, text: ruleText(rule) })),
				optional: [...SUGGESTED.rules, ...SUGGESTED.optional]
					.filter(({ id }) => !layout.modeRules.some((rule) => rule.id === id))
					.map((rule) => ({
						rule: { ...rule, when: [...rule.when] },
						text: modeRuleText(rule),
					})),
				cannotTell: [...SUGGESTED.cannotTell],
			},
			faults: [],
			notYet: day ? null : 'No stamp can be read: choose another way it is written.',
		};
	};
	const imported = (answer: 'refuse' | 'keepBefore' | 'takeFile'): LoggerImported => {
		const clash = making.conflicts && answer === 'refuse';
		const conflicts = making.conflicts ? 3 : 0;
		return {
			outcome: clash ? 'refused' : 'done',
			why: clash ? 'Three rows differ from what is there; nothing was imported.' : null,
			sources: clash
				? []
				: [
						{
							file: 'plant logger 2031-04-07.csv',
							sha256: 'ab12'.repeat(16),
							bytes: 5_214_900,
							rows: 86_400,
						},
					],
			rows: 86_400,
			added: clash ? 0 : 72_000,
			duplicates: clash ? 0 : 14_400 - conflicts,
			conflicts,
			overlap: { from_s: START_S, to_s: START_S + 14_400 },
			conflictList: Array.from({ length: conflicts }, (_, row) => ({
				time_s: START_S + row,
				column: 'feed_flow_m3_h',
				before: '979.9',
				file: `98${row}.3`,
				kept: answer === 'takeFile' ? ('file' as const) : ('before' as const),
			})),
			first_s: START_S,
			last_s: START_S + 86_400,
			rings: clash ? 0 : 12,
			took_s: 3.2,
			faults: [],
			moreFaults: 0,
		};
	};
	let layout = GUESS;
	return {
		'logger.inspect': (ask) => {
			layout = ask.layout ?? GUESS;
			return inspect(layout, ask.layout ? null : (ask.profile ?? null));
		},
		'logger.import': (ask) => imported(ask.conflicts),
		'logger.unfinished': () =>
			isLeft
				? {
						files: ['plant logger 2031-04-07.csv'],
						read: 3_100_000,
						ofBytes: 5_214_900,
						days: 11,
						upTo_s: START_S + 11 * 86_400,
						begun_s: START_S + 40 * 86_400,
						notNow:
							making.unfinished === 'gone'
								? 'plant logger 2031-04-07.csv is not where it was when the import began.'
								: null,
					}
				: null,
		'logger.goOn': () => {
			isLeft = false;
			return imported('keepBefore');
		},
		'logger.discard': () => {
			isLeft = false;
			return { discarded: true };
		},
		'logger.cancel': () => ({ cancelled: true }),
		'logger.profiles': () =>
			making.kept ? [{ name: 'Plant logger', layout: GUESS, usedAt_s: START_S }] : [],
		'logger.sources': () => [],
	};
}
