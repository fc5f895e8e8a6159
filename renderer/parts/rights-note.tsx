import type { Procedure } from '#core/contracts/contract.ts'
import { whoElseMay } from '#core/people/roles.ts'
import { useStanding } from '#renderer/parts/rights.ts'
import './notice.css'

/** Says on a screen whose steps are not for the role that is signed in who takes them; nothing where they are. */
export function RightsNote({ about, to }: { about: string; to: Procedure }) {
  const standing = useStanding()
  const sentence = standing.at === 'desk' && standing.person ? whoElseMay(standing.person.role, to) : undefined
  return (
    sentence && (
      <p className="rights-note" role="note">
        <strong>{about}.</strong> {sentence}
      </p>
    )
  )
}
