import { createContext, use } from 'react'
import type { Procedure } from '#core/contracts/contract.ts'
import type { Standing } from '#core/contracts/people.ts'
import { mayCall, maySave } from '#core/people/roles.ts'
import type { TypedSubject } from '#core/words/record-fields.ts'

/** Where this window stands, and so what may be done in it; the frame puts it there. */
export const StandingContext = createContext<Standing>({ at: 'alone' })

export const useStanding = (): Standing => use(StandingContext)

/**
 * Whether a step may be taken here: on the one machine and on the house machine every one, at a desk what the role may.
 * The core refuses the others whatever is shown.
 */
export function useMay(): (procedure: Procedure) => boolean {
  const standing = useStanding()
  return (procedure) => standing.at !== 'desk' || (standing.person !== null && mayCall(standing.person.role, procedure))
}

/** The same of saving records of a kind. */
export function useMaySave(): (subject: TypedSubject) => boolean {
  const standing = useStanding()
  return (subject) => standing.at !== 'desk' || (standing.person !== null && maySave(standing.person.role, subject))
}
