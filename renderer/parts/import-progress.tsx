import { Button, Progress } from '@mantine/core'
import type { ImportProgress } from '#core/api/import-contract.ts'
import { count } from '#renderer/parts/format.ts'
import './import-progress.css'

/** How far an import has come, and a way to stop it. */
export function ImportRunning({
  source,
  progress: { stage, rows, rowsPerSecond, share },
  onCancel,
}: {
  source: string
  progress: ImportProgress
  onCancel: () => void
}) {
  return (
    <div className="import-running">
      <div className="import-running-head">
        <strong>{source}</strong>
        <Button variant="default" onClick={onCancel}>
          Cancel
        </Button>
      </div>
      <Progress
        value={share === null ? 100 : share * 100}
        animated={share === null}
        striped={share === null}
        aria-label={`Bringing in ${source}`}
      />
      <output>
        {stage}
        {rows > 0 && `: ${count(rows)} rows, ${count(rowsPerSecond)} rows/s`}
      </output>
    </div>
  )
}
