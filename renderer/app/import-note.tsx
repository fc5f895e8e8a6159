import { hrefOf } from '#renderer/parts/address.ts'
import { useImportState } from '#renderer/screens/folder/bring-in.ts'
import { useForeignState } from '#renderer/screens/foreign/bring-in-foreign.ts'

/** Says on every other screen that an import is still under way, and leads to it. */
export function ImportNote({ screen }: { screen: string }) {
  const folder = useImportState()
  const foreign = useForeignState()
  const [state, at] = foreign.phase === 'running' ? [foreign, 'foreign'] : [folder, 'folder']
  if (state.phase !== 'running' || screen === at) return null
  const { share } = state.progress
  return (
    <a className="bar-note" href={hrefOf(at)}>
      Bringing in {state.source}
      {share !== null && ` ${Math.floor(share * 100)} %`}
    </a>
  )
}
