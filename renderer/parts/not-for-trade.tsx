/** Stands under every weight that comes from a pressure. */
export function NotForTrade() {
  return (
    <p className="not-for-trade">
      Onboard weights are not legal for trade; a certified scale and the local authority decide.
    </p>
  )
}
