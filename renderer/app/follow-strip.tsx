import { fleetWorkWords } from '#core/words/touch.ts'
import { useMutation } from '@tanstack/react-query'
import { useEffect, useState } from 'react'
import type { FileState } from '#core/contracts/file.ts'
import { api } from '#renderer/client/api.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

/** What is followed up sooner than this is not worth a word. */
const worthAWordMs = 1000

/** Whether something has been so for a while. */
function useLasting(is: boolean): boolean {
  const [lasts, setLasts] = useState(false)
  useEffect(() => {
    if (!is) return
    const timer = setTimeout(() => setLasts(true), worthAWordMs)
    return () => {
      clearTimeout(timer)
      setLasts(false)
    }
  }, [is])
  return is && lasts
}

/** Where the fleet stands while what is stored is not that of the record as of today; nothing while it is. */
export function FollowStrip({ state }: { state: FileState | undefined }) {
  const isBehind = useLasting(state !== undefined && !state.current && state.judgedOn !== null)
  const holdBack = useMutation(api.file.holdBack.mutationOptions())
  const followUp = useMutation(api.file.followUp.mutationOptions())
  if (!isBehind || !state) return null
  const { judgedOn, following, heldBack } = state
  const done = following?.share == null ? '' : ` ${Math.floor(100 * following.share)} %`
  return (
    <aside className="follow" aria-label={phrase('Not up to date yet')}>
      <span>
        <Phrase
          text="<strong>Not up to date yet.</strong> The fleet is shown as judged for {judgedOn}; units that you touch are judged at once."
          with={{ strong: (words) => <strong>{words}</strong>, judgedOn }}
        />
      </span>
      <span className="follow-work">
        {following ? `${fleetWorkWords[following.work]}${done}` : heldBack ? phrase('Left as it is.') : ''}
      </span>
      {following && (
        <button type="button" className="follow-tool" disabled={holdBack.isPending} onClick={() => holdBack.mutate()}>
          {phrase('Not now')}
        </button>
      )}
      {!following && heldBack && (
        <button type="button" className="follow-tool" disabled={followUp.isPending} onClick={() => followUp.mutate()}>
          {phrase('Bring it up to date')}
        </button>
      )}
    </aside>
  )
}
