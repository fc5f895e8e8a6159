import { backupStore } from '#core/store/backup.ts'
import { openStore } from '#core/store/open.ts'
import { amount, type Command, dbOption } from '#electron/command/command.ts'

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
              `${amount(missing.length, 'attachment')} of the record ${missing.length === 1 ? 'is' : 'are'} missing or damaged and could not be copied; check says which.`,
            ]
      return {
        document: { ...backup, missing_attachments: missing },
        messages,
        text: `Copied to ${backup.file} and checked: ${amount(backup.rows, 'row')} in ${amount(backup.tables, 'table')}.`,
      }
    } finally {
      await store.close()
    }
  },
}
