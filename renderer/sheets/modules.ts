import {
	CellApiModule,
	CellStyleModule,
	ClientSideRowModelApiModule,
	ClientSideRowModelModule,
	ColumnApiModule,
	CustomEditorModule,
	EventApiModule,
	ExternalFilterModule,
	HighlightChangesModule,
	ModuleRegistry,
	NumberFilterModule,
	RenderApiModule,
	RowApiModule,
	RowSelectionModule,
	RowStyleModule,
	ScrollApiModule,
	TextFilterModule,
	TooltipModule,
} from 'ag-grid-community';

let done = false;

/** Registers the parts of the grid the sheets use, once; the rest stays out of the bundle. */
export function registerGridModules(): void {
	if (done) return;
	done = true;
	ModuleRegistry.registerModules([
		ClientSideRowModelModule,
		ClientSideRowModelApiModule,
		ColumnApiModule,
		CellApiModule,
		RowApiModule,
		ScrollApiModule,
		EventApiModule,
		RenderApiModule,
		CellStyleModule,
		HighlightChangesModule,
		CustomEditorModule,
		NumberFilterModule,
		TextFilterModule,
		ExternalFilterModule,
		RowSelectionModule,
		RowStyleModule,
		TooltipModule,
	]);
}
