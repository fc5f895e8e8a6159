import type { ComponentProps, ReactNode } from 'react'
import { hrefOf } from '#renderer/parts/address.ts'

/** A ticket by its number and scale, as the way to it; without an id its number alone. */
export const TicketLink = ({ id, number, scale }: { id: number | null; number: string; scale: string | null }) => (
  <>
    {id === null ? number : <a href={hrefOf('ticket', String(id))}>{number}</a>}
    {scale !== null && <span className="quiet">, {scale}</span>}
  </>
)

interface UnitLinksProps {
  readonly units: readonly string[]
  /** What stands between two of them. */
  readonly between: string
  readonly screen?: 'unit' | 'record'
}

/** Units as ways to their sheets. */
export const UnitLinks = ({ units, between, screen = 'unit' }: UnitLinksProps) =>
  units.map((unit, place) => (
    <span key={unit}>
      {place > 0 && between}
      <a href={hrefOf(screen, unit)}>{unit}</a>
    </span>
  ))

interface LinkButtonProps extends Omit<ComponentProps<'button'>, 'about'> {
  /** What it is done to, heard only. */
  readonly about?: ReactNode
  /** Whether it opens a dialog. */
  readonly asks?: boolean
}

/** A step that is taken from among words, and looks like a link. */
export const LinkButton = ({ about, asks = false, children, ...button }: LinkButtonProps) => (
  <button type="button" className="link" aria-haspopup={asks ? 'dialog' : undefined} {...button}>
    {children}
    {about !== undefined && <span className="unheard"> {about}</span>}
  </button>
)
