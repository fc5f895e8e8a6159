import type { ImportProgress } from '#core/contracts/import.ts'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { checkFile } from '#core/store/check-file.ts'
import { backupStore } from '#core/store/copies.ts'
import { openStore } from '#core/store/open.ts'
import { count } from '#core/words/text.ts'
import { type Answer, type Command, dbOption } from '#electron/command/command.ts'

/** Copies a fleet file while it may be in use. */
export const backupCommand: Command = {
  name: 'backup',
  summary: 'Copy a fleet file, also while it is in use, and check the copy; another file is never replaced.',
  arguments: [],
  options: { db: dbOption, to: { type: 'string', value: 'FILE', about: 'the new file for the copy', required: true } },
  run: async (input) => {
    const store = await openStore(input.text('db'), { mustExist: true })
    try {
      const { missing, ...backup } = await backupStore(store, input.text('to'))
      const messages =
        missing.length === 0
          ? []
          : [
              `${count(missing.length, 'attachment')} of the record ${missing.length === 1 ? 'is' : 'are'} missing ` +
                'or damaged and could not be copied; check says which.',
            ]
      return {
        document: { ...backup, missing_attachments: missing },
        messages,
        text:
          `Copied to ${backup.file} and checked: ${count(backup.rows, 'row')} in ` +
          `${count(backup.tables, 'table')}.`,
      }
    } finally {
      await store.close()
    }
  },
}

/** Looks a fleet file over without changing it. */
export const checkCommand: Command = {
  name: 'check',
  summary: 'Look a fleet file over: whole, every reference kept, and of this version. Nothing is changed.',
  arguments: [],
  options: { db: dbOption },
  run: async (input) => {
    const { file, sound, step, latestStep, complaints, brokenReferences, missingAttachments, message } =
      await checkFile(input.text('db'))
    return {
      document: {
        file,
        sound,
        step,
        latest_step: latestStep,
        complaints,
        broken_references: brokenReferences,
        missing_attachments: missingAttachments,
        message,
      },
      text: sound ? message : '',
      messages: sound ? [] : [message, ...complaints.slice(1), ...missingAttachments],
      exit: sound ? 0 : 2,
    }
  },
}

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
    const lines = outcome.files.map(({ file, rows }) => `${file.padEnd(width)}  ${count(rows, 'row')}`)
    const { folder, files, formulaTexts, leftOut } = outcome
    const messages =
      formulaTexts === 0
        ? leftOut
        : [
            ...leftOut,
            `${count(formulaTexts, 'text')} begin${formulaTexts === 1 ? 's' : ''} as a formula does and ` +
              `stay${formulaTexts === 1 ? 's' : ''} as recorded: in a spreadsheet, import the columns as text.`,
          ]
    return {
      document: { folder, files, formula_texts: formulaTexts, left_out: leftOut },
      text: [...lines, `Written to ${folder}.`].join('\n'),
      messages,
    }
  },
}

/** Brings a fleet folder into a fleet file. */
export const importCommand: Command = {
  name: 'import',
  summary: 'Import a fleet folder into a fleet file, all of it or nothing; the file is made where there is none.',
  arguments: ['FOLDER'],
  options: { db: dbOption },
  run: async (input, terminal): Promise<Answer> => {
    const folder = input.argument(0)
    const file = input.text('db')
    const onProgress = ({ stage, rows, rowsPerSecond, share }: ImportProgress) => {
      const percent = share === null ? '' : `${Math.floor(share * 100)} % · `
      terminal.progress(`${stage} · ${percent}${count(rows, 'row')} · ${rowsPerSecond.toLocaleString('en-US')} rows/s`)
    }
    // In this thread: nobody waits meanwhile. The next command or window judges the fleet when it is asked to.
    const outcome = await importIntoFile(file, folder, { signal: terminal.signal, onProgress })
    terminal.progress(undefined)
    if (outcome.outcome === 'refused') {
      const { problems, more } = outcome
      const many = more ? `The first ${problems.length} problems are listed` : count(problems.length, 'problem')
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
        `${name.padEnd(width)}  ${count(read, 'row')}: ${added.toLocaleString('en-US')} added, ` +
        `${completed.toLocaleString('en-US')} completed, ${same.toLocaleString('en-US')} the same`,
    )
    const changed = files.some(({ added, completed }) => added + completed > 0)
    return {
      document: outcome,
      text: [
        ...lines,
        `${count(rows, 'row')} in ${seconds.toFixed(1)} s. ${changed ? 'Stored.' : 'Nothing was new.'}`,
      ].join('\n'),
      messages: notes,
    }
  },
}
