/** What the main process tells the service when it starts it, as JSON in its first argument. */
export interface ServiceStart {
  readonly version: string
  readonly db?: string
  readonly startWithDemo: boolean
  readonly fleetFolder: string
  readonly inboxRoot: string
}

/**
 * What the service tells the main process: it can take ports, or it cannot, with the sentence to show; or a later file
 * cannot be opened.
 */
export type ServiceNews =
  | { readonly news: 'ready' }
  | { readonly news: 'refused'; readonly sentence: string }
  | { readonly news: 'not-opened'; readonly sentence: string }

/**
 * What the main process tells the service: here is a window's port, open this fleet file (its full path), or end in
 * good order.
 */
export type ServiceOrder = 'port' | 'end' | { readonly open: string }
