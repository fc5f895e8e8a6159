import { speechHeaders } from '#core/words/catalogues.ts'
import { callCredentials, passHeaders } from '#renderer/client/pass.ts'

/** A file with its path within the picked folder. */
export interface PlacedFile {
  readonly file: File
  readonly path: string
}

/**
 * Sends picked files, of a fleet folder or one foreign one, to an inbox of the app; returns the inbox's name for the
 * procedures.
 */
export async function sendFiles(
  files: readonly PlacedFile[],
  options: { signal?: AbortSignal; onSent?: (file: string, sent: number) => void } = {},
): Promise<string> {
  const inbox = crypto.randomUUID()
  const { signal, onSent } = options
  try {
    for (const [at, { file, path }] of files.entries()) {
      const answer = await fetch(`/inbox/${inbox}/${path.split('/').map(encodeURIComponent).join('/')}`, {
        method: 'PUT',
        headers: { ...passHeaders(), ...speechHeaders() },
        credentials: callCredentials(),
        body: file,
        ...(signal ? { signal } : {}),
      })
      if (!answer.ok) throw new Error((await answer.text()).trim())
      onSent?.(path, at + 1)
    }
    return inbox
  } catch (error) {
    await forgetFiles(inbox)
    throw error
  }
}

/** Deletes the files of an inbox that will not be imported. */
export async function forgetFiles(inbox: string): Promise<void> {
  // The app empties its inboxes when it ends, so a failure here loses nothing.
  await fetch(`/inbox/${inbox}`, { method: 'DELETE', headers: passHeaders(), credentials: callCredentials() }).catch(
    () => undefined,
  )
}
