import type { DismissedView } from '#core/api/contract.ts'
import { count, moment } from '#renderer/parts/format.ts'
import './set-aside-list.css'

/** What was set aside, by whom and why, newest first; a finding that came back on new evidence stands above as well. */
export function SetAsideList({ setAside }: { setAside: readonly DismissedView[] }) {
  if (setAside.length === 0) return null
  return (
    <details className="set-aside">
      <summary>{count(setAside.length)} set aside</summary>
      <ol>
        {setAside.map(({ at, by, message, reason }) => (
          <li key={`${at} ${message}`}>
            <p>{message}</p>
            <p className="quiet">
              {moment(at)}, {by}: {reason}
            </p>
          </li>
        ))}
      </ol>
    </details>
  )
}
