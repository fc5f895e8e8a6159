import { Button } from '@mantine/core'
import { useEffect, useRef } from 'react'
import { hrefOf } from '#renderer/parts/address.ts'
import { ScreenTitle } from '#renderer/parts/arrival.tsx'
import { ImportRunning } from '#renderer/parts/import-progress.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useBringIn, useImportState } from './bring-in.ts'
import { FolderChooser } from './folder-chooser.tsx'
import { ImportReport } from './import-outcome.tsx'
import { WriteOut } from './write-out.tsx'
import '#renderer/parts/sheet-table.css'
import './folder-screen.css'

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
          <FolderChooser
            onFiles={({ name, files }) => void bringInFiles(name, files)}
            onPath={(path) => void bringInFolder(path)}
          />
        )}
        {phase === 'running' && <ImportRunning source={state.source} progress={state.progress} onCancel={cancel} />}
        {phase === 'cancelled' && (
          <div className="notice" role="status">
            <h3 className="notice-title">Cancelled</h3>
            <p>Nothing of {state.source} was stored.</p>
          </div>
        )}
        {phase === 'failed' && <ProblemNotice title={`${state.source} was not brought in`} error={state.error} />}
        {phase === 'finished' && (
          <>
            <ImportReport source={state.source} outcome={state.outcome} />
            <Button variant="default" className="folder-again" onClick={forget}>
              Bring in another folder
            </Button>
          </>
        )}
      </section>
      <section className="folder-section" aria-labelledby="foreign-title">
        <h2 id="foreign-title">Other CSV files</h2>
        <p>
          Tickets from a scale operator and readings from a sensor app come in any CSV file: say once which column is
          what, and keep that under a name. <a href={hrefOf('foreign')}>Bring in a CSV file</a>
        </p>
      </section>
      <WriteOut />
      <section className="folder-section" aria-labelledby="copies-title">
        <h2 id="copies-title">Copies</h2>
        <p>
          A copy of the whole file is kept every day and before every import.{' '}
          <a href={hrefOf('copies')}>See the copies and restore one</a>
        </p>
      </section>
    </div>
  )
}
