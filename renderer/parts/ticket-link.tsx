import { hrefOf } from '#renderer/parts/address.ts'

/** A ticket by its number and scale, as a way to it in the Scale House. */
export const TicketLink = ({ number, scale }: { number: string; scale: string | null }) => (
  <>
    <a href={hrefOf('scale-house', 'tickets', { text: [number, scale].filter(Boolean).join(' ') })}>{number}</a>
    {scale !== null && <span className="quiet">, {scale}</span>}
  </>
)
