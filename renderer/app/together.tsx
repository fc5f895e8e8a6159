import { type ReactNode, useEffect, useMemo, useState, useSyncExternalStore } from 'react'
import { phrase } from '#core/words/phrase.ts'
import { client } from '#renderer/client/api.ts'
import { type HeardChange, changesHeard, presence } from '#renderer/client/presence.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { type Together, TogetherContext } from '#renderer/parts/others-here.tsx'
import { usePerson } from '#renderer/parts/person.ts'
import { useMay, useStanding } from '#renderer/parts/rights.ts'

/** A form that is open is spoken of so often, well within what the house takes for gone. */
const againMs = 20_000

/** Under which name this window stands among the desks of a house; null where there are none. */
function useOwnName(): string | null {
  const standing = useStanding()
  const [typed] = usePerson()
  if (standing.at === 'desk') return standing.person?.name ?? null
  if (standing.at === 'house machine') return typed.trim() || phrase('the house machine')
  return null
}

/** Says to the other desks of a house which forms are open here, and here which are open there. */
export function TogetherHere({ children }: { children: ReactNode }) {
  const by = useOwnName()
  const maySay = useMay()('desk.present')
  const all = useSyncExternalStore(presence.subscribe, presence.now)
  const enter = useMemo<Together['enter']>(
    () => (form) => {
      if (by === null || !maySay) return () => undefined
      // Whoever does not hear of it sees what became of it when saving.
      const say = (open: boolean) => void client.desk.present({ form, open, by }).catch(() => undefined)
      say(true)
      const timer = setInterval(() => say(true), againMs)
      return () => {
        clearInterval(timer)
        say(false)
      }
    },
    [by, maySay],
  )
  const together = useMemo(
    () => ({ enter, present: by === null ? [] : all.filter((each) => each.by !== by) }),
    [enter, all, by],
  )
  return <TogetherContext value={together}>{children}</TogetherContext>
}

/** A change is of a moment ago for so long. */
const momentMs = 60_000
/** Screens that show many units at once: any change may be on them. */
const lists: ReadonlySet<string> = new Set([
  'today',
  'roster',
  'scale-house',
  'heavy',
  'monday',
  'shop',
  'fleet',
  'log',
])

/** Whether a change is of something that the screen shows. */
function isShown({ unit, subject, recordId }: HeardChange, screen: string, about: string | null): boolean {
  if (lists.has(screen)) return true
  if (screen === 'house-rules') return subject === 'house rule'
  if (screen === 'ticket' || screen === 'reading') return subject === screen && String(recordId) === about
  return about !== null && unit === about
}

/** Says who else changed a moment ago what is on the screen. */
export function ChangedNote() {
  const by = useOwnName()
  const { screen, subject } = useAddress()
  const heard = useSyncExternalStore(changesHeard.subscribe, changesHeard.now)
  const [now, setNow] = useState(() => performance.now())
  const shown = heard.filter(
    (change) => change.by !== by && change.heardAt > now - momentMs && isShown(change, screen, subject),
  )
  const last = shown[0]?.heardAt
  useEffect(() => {
    setNow(performance.now())
    if (heard.length === 0) return
    const timer = setTimeout(() => setNow(performance.now()), momentMs)
    return () => clearTimeout(timer)
  }, [heard])
  const [latest] = shown
  const more = new Set(shown.map(({ key, subject: of }) => `${of} ${key}`)).size - 1
  return (
    <div role="status" className="changed" data-empty={latest === undefined || by === null || undefined}>
      {latest && by !== null && (
        <p key={last}>
          {phrase('Changed by {who} a moment ago: {what}{more, plural, =0 {} one { and # more} other { and # more}}.', {
            who: latest.by,
            what: latest.unit === null ? `${latest.subject} ${latest.key}` : `${latest.unit}, ${latest.subject}`,
            more,
          })}
        </p>
      )}
    </div>
  )
}
