import { phrase } from '#core/words/phrase.ts'
import './cautions.css'

/** Stands wherever the app sends someone to work on a vehicle. */
export function Cautions() {
  return (
    <aside className="cautions" aria-labelledby="cautions-title">
      <h3 id="cautions-title" className="cautions-title">
        {phrase('Before working on the vehicle')}
      </h3>
      <ul>
        <li>{phrase('Park on level ground, set the brakes and chock the wheels.')}</li>
        <li>{phrase('Exhaust the suspension air before opening a line.')}</li>
        <li>{phrase('Never work under a body or frame that is held up by air.')}</li>
        <li>{phrase('Never tee into brake air.')}</li>
        <li>{phrase('Keep coin cells away from children.')}</li>
      </ul>
    </aside>
  )
}

/** Stands under every weight that comes from a pressure. */
export function NotForTrade() {
  return (
    <p className="not-for-trade">
      {phrase('Onboard weights are not legal for trade; a certified scale and the local authority decide.')}
    </p>
  )
}
