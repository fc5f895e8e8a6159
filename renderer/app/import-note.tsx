import { hrefOf } from '#renderer/parts/address.ts'
import { useImportState } from '#renderer/screens/folder/bring-in.ts'

/** Says on every other screen that an import is still under way, and leads to it. */
export function ImportNote({ screen }: { screen: string }) {
  const state = useImportState()
  if (state.phase !== 'running' || screen === 'folder') return null
  const { share } = state.progress
  return <a className="bar-note" href={hrefOf('folder')}>Bringing in {state.source}{share !== null && ` ${Math.floor(share * 100)} %`}</a>
}
