import { counted } from '#renderer/parts/format.ts'
import { OutcomeMark } from '#renderer/parts/marks.tsx'

/** Something that has waited too long. */
export const Overdue = ({ days, what }: { days: number | null; what: string }) =>
  days !== null && (
    <p role="alert">
      <OutcomeMark well={false} word="overdue" /> {what} for {counted(days, 'day')}.
    </p>
  )
