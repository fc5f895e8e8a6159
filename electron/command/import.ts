import type { ImportProgress } from '#core/api/import-contract.ts'
import { importIntoFile } from '#core/exchange/import-into-file.ts'
import { amount, type Answer, type Command, dbOption } from '#electron/command/command.ts'

/** Brings a fleet folder into a fleet file. */
export const importCommand: Command = {
  name: 'import',
  summary: 'Bring a fleet folder into a fleet file, all of it or nothing; the file is made where there is none.',
  arguments: ['FOLDER'],
  options: { db: dbOption },
  run: async (input, terminal): Promise<Answer> => {
    const folder = input.argument(0)
    const file = input.text('db')
    const onProgress = ({ stage, rows, rowsPerSecond, share }: ImportProgress) => {
      const percent = share === null ? '' : `${Math.floor(share * 100)} % · `
      terminal.progress(`${stage} · ${percent}${amount(rows, 'row')} · ${rowsPerSecond.toLocaleString('en-US')} rows/s`)
    }
    // In this thread: nobody waits meanwhile. The next command or window judges the fleet when it is asked to.
    const outcome = await importIntoFile(file, folder, { signal: terminal.signal, onProgress })
    terminal.progress(undefined)
    if (outcome.outcome === 'refused') {
      const { problems, more } = outcome
      const many = more ? `The first ${problems.length} problems are listed` : amount(problems.length, 'problem')
      return {
        document: outcome,
        text: '',
        exit: 2,
        messages: [
          ...problems.map(({ message }) => message),
          `Nothing was stored. ${many}${more ? '; there are more.' : '.'}`,
        ],
      }
    }
    const { files, notes, seconds } = outcome
    const width = Math.max(...files.map(({ file: name }) => name.length))
    const rows = files.reduce((sum, { read }) => sum + read, 0)
    const lines = files.map(
      ({ file: name, read, added, completed, same }) =>
        `${name.padEnd(width)}  ${amount(read, 'row')}: ${added.toLocaleString('en-US')} added, ${completed.toLocaleString('en-US')} completed, ${same.toLocaleString('en-US')} the same`,
    )
    const changed = files.some(({ added, completed }) => added + completed > 0)
    return {
      document: outcome,
      text: [
        ...lines,
        `${amount(rows, 'row')} in ${seconds.toFixed(1)} s. ${changed ? 'Stored.' : 'Nothing was new.'}`,
      ].join('\n'),
      messages: notes,
    }
  },
}
