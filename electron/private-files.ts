import { isMainThread } from 'node:worker_threads'

/**
 * From now on the files and folders that this process makes are their user's alone (0600, 0700). Windows takes no
 * notice.
 */
export const keepFilesPrivate = (): void => {
  // A thread makes its files as its process does, and may not say how.
  if (isMainThread) process.umask(0o077)
}
