import './cautions.css'

/** Stands wherever the app sends someone to work on a vehicle. */
export function Cautions() {
  return (
    <aside className="cautions" aria-labelledby="cautions-title">
      <h3 id="cautions-title" className="cautions-title">
        Before working on the vehicle
      </h3>
      <ul>
        <li>Park on level ground, set the brakes and chock the wheels.</li>
        <li>Exhaust the suspension air before opening a line.</li>
        <li>Never work under a body or frame that is held up by air.</li>
        <li>Never tee into brake air.</li>
        <li>Keep coin cells away from children.</li>
      </ul>
    </aside>
  )
}

/** Stands under every weight that comes from a pressure. */
export function NotForTrade() {
  return (
    <p className="not-for-trade">
      Onboard weights are not legal for trade; a certified scale and the local authority decide.
    </p>
  )
}
