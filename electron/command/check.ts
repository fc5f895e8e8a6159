import { checkFile } from '#core/store/check-file.ts'
import { type Command, dbOption } from '#electron/command/command.ts'

/** Looks a fleet file over without changing it. */
export const checkCommand: Command = {
  name: 'check',
  summary: 'Look a fleet file over: whole, every reference kept, and of this version. Nothing is changed.',
  arguments: [],
  options: { db: dbOption },
  run: async (input) => {
    const { file, sound, step, latestStep, complaints, brokenReferences, missingAttachments, message } = checkFile(
      input.text('db'),
    )
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
