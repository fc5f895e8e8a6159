import { Button, Progress } from '@mantine/core'
import { useEffect, useRef } from 'react'
import { hrefOf } from '#renderer/parts/address.ts'
import { ScreenTitle } from '#renderer/parts/arrival.tsx'
import { count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { type ImportState, useBringIn, useImportState } from './bring-in.ts'
import { FolderChooser } from './folder-chooser.tsx'
import { ImportReport } from './import-outcome.tsx'
import { WriteOut } from './write-out.tsx'
import '#renderer/parts/sheet-table.css'
import './folder-screen.css'

function Running({ state, onCancel }: { state: Extract<ImportState, { phase: 'running' }>; onCancel: () => void }) {
  const { source, progress: { stage, rows, rowsPerSecond, share } } = state
  return (
    <div className="folder-running">
      <div className="folder-running-head">
        <strong>{source}</strong>
        <Button variant="default" onClick={onCancel}>Cancel</Button>
      </div>
      <Progress value={share === null ? 100 : share * 100} animated={share === null} striped={share === null} aria-label={`Bringing in ${source}`} />
      <output>{stage}{rows > 0 && `: ${count(rows)} rows, ${count(rowsPerSecond)} rows/s`}</output>
    </div>
  )
}

/** A fleet folder in, with its progress and outcome, and the whole record out. */
export function FolderScreen() {
  const state = useImportState()
  const { bringInFiles, bringInFolder, cancel, forget } = useBringIn()
  const section = useRef<HTMLElement>(null)
  const { phase } = state
  useEffect(() => {
    if (phase === 'finished') section.current?.querySelector<HTMLElement>('#result-title')?.focus()
  }, [phase])
  return (
    <div className="folder">
      <title>Fleet folder · Tareline</title>
      <ScreenTitle>Fleet folder</ScreenTitle>
      <section ref={section} className="folder-section" aria-labelledby="bring-in-title">
        <h2 id="bring-in-title">Bring in</h2>
        {(phase === 'idle' || phase === 'cancelled' || phase === 'failed') && (
          <FolderChooser onFiles={({ name, files }) => void bringInFiles(name, files)} onPath={(path) => void bringInFolder(path)} />
        )}
        {phase === 'running' && <Running state={state} onCancel={cancel} />}
        {phase === 'cancelled' && <div className="notice" role="status"><h3 className="notice-title">Cancelled</h3><p>Nothing of {state.source} was stored.</p></div>}
        {phase === 'failed' && <ProblemNotice title={`${state.source} was not brought in`} error={state.error} />}
        {phase === 'finished' && (
          <>
            <ImportReport source={state.source} outcome={state.outcome} />
            <Button variant="default" className="folder-again" onClick={forget}>Bring in another folder</Button>
          </>
        )}
      </section>
      <WriteOut />
      <section className="folder-section" aria-labelledby="copies-title">
        <h2 id="copies-title">Copies</h2>
        <p>A copy of the whole file is kept every day and before every import. <a href={hrefOf('copies')}>See the copies and restore one</a></p>
      </section>
    </div>
  )
}
