/** Sends picked files of a fleet folder to an inbox of the app; returns the inbox's name for `folder.bringIn`. */
export async function sendFiles(files: readonly File[], options: { signal?: AbortSignal; onSent?: (file: string, sent: number) => void } = {}): Promise<string> {
  const inbox = crypto.randomUUID()
  const { signal, onSent } = options
  try {
    for (const [at, file] of files.entries()) {
      const answer = await fetch(`/inbox/${inbox}/${encodeURIComponent(file.name)}`, { method: 'PUT', body: file, ...(signal ? { signal } : {}) })
      if (!answer.ok) throw new Error((await answer.text()).trim())
      onSent?.(file.name, at + 1)
    }
    return inbox
  } catch (error) {
    await forgetFiles(inbox)
    throw error
  }
}

/** Deletes the files of an inbox that will not be brought in. */
async function forgetFiles(inbox: string): Promise<void> {
  // The app empties its inboxes when it ends, so a failure here loses nothing.
  await fetch(`/inbox/${inbox}`, { method: 'DELETE' }).catch(() => undefined)
}
