import type { ReactNode } from 'react'
import './facts.css'

/** A name, its value, and what stands quietly behind the name. */
export type Fact = readonly [name: string, value: ReactNode, about?: string]

interface FactsProps {
  /** In order; one that is not known is left out. */
  readonly facts: readonly (Fact | false | null | undefined)[]
  readonly as?: 'lines' | 'pairs'
  readonly className?: string
}

/** What is known of something: names, each with its value. */
export const Facts = ({ facts, as, className = '' }: FactsProps) => (
  <dl className={`facts ${className}`} data-as={as}>
    {facts.map(
      (fact) =>
        fact && (
          <div key={fact[0]}>
            <dt>
              {fact[0]}
              {fact[2] && <span className="quiet"> {fact[2]}</span>}
            </dt>
            <dd>{fact[1]}</dd>
          </div>
        ),
    )}
  </dl>
)
