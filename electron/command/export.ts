import { exportFolder } from '#core/exchange/export-folder.ts'
import { openStore } from '#core/store/open.ts'
import { amount, type Command, dbOption } from '#electron/command/command.ts'

/** Writes a fleet file out as a fleet folder. */
export const exportCommand: Command = {
  name: 'export',
  summary: 'Write a fleet file out as a fleet folder.',
  arguments: ['FOLDER'],
  options: { db: dbOption },
  run: async (input) => {
    const store = await openStore(input.text('db'), { mustExist: true })
    const outcome = await exportFolder(store, input.argument(0)).finally(() => store.close())
    const width = Math.max(...outcome.files.map(({ file }) => file.length))
    const lines = outcome.files.map(({ file, rows }) => `${file.padEnd(width)}  ${amount(rows, 'row')}`)
    const { folder, files, formulaTexts, leftOut } = outcome
    const messages =
      formulaTexts === 0
        ? leftOut
        : [
            ...leftOut,
            `${amount(formulaTexts, 'text')} begin${formulaTexts === 1 ? 's' : ''} as a formula does and stay${formulaTexts === 1 ? 's' : ''} as recorded: in a spreadsheet, import the columns as text.`,
          ]
    return {
      document: { folder, files, formula_texts: formulaTexts, left_out: leftOut },
      text: [...lines, `Written to ${folder}.`].join('\n'),
      messages,
    }
  },
}
