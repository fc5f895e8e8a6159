import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, counted } from '#renderer/parts/format.ts'
import { ImportProgressNotice } from '#renderer/parts/import-progress.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { PathForm, SourceChooser } from '#renderer/parts/source-chooser.tsx'
import { Section } from '#renderer/parts/section.tsx'
import './folder-screen.css'
import { ImportReport } from './import-outcome.tsx'
import {
  type PickedFolder,
  bringInFiles,
  bringInFolder,
  cancelImport,
  fleetFolderFiles,
  forgetImport,
  fromDrop,
  fromInput,
  useImportState,
} from './picked-folder.ts'

interface FolderChooserProps {
  onFiles: (folder: PickedFolder) => void
  onPath: (path: string) => void
}

/** Names the fleet folder that is to be imported, and says what of it is taken. */
function FolderChooser({ onFiles, onPath }: FolderChooserProps) {
  const [picked, setPicked] = useState<PickedFolder>()
  const [complaint, setComplaint] = useState('')

  const take = (folder: PickedFolder | undefined) => {
    setPicked(folder)
    if (!folder) setComplaint('That is not a folder. Drop the folder that holds the CSV files.')
    else if (folder.files.length === 0)
      setComplaint(`${folder.name || 'The folder'} holds none of the twelve files of a fleet folder.`)
    else {
      setComplaint('')
      onFiles(folder)
    }
  }

  return (
    <SourceChooser
      choose="Choose a folder…"
      heard="Fleet folder"
      folder
      typed={{
        label: 'Or a folder on this computer',
        placeholder: 'Full path, such as C:\\Fleet\\folder',
        action: 'Import',
        onPath,
      }}
      onFiles={(files) => take(fromInput(files))}
      onDrop={({ items }) =>
        void fromDrop(items).then(take, () => setComplaint('The dropped folder could not be read. Choose it instead.'))
      }
    >
      {complaint && (
        <p role="alert" className="folder-complaint">
          {complaint}
        </p>
      )}
      {picked && picked.others.length > 0 && <p className="quiet">Left aside: {picked.others.join(', ')}</p>}
      <details className="folder-files">
        <summary>What a fleet folder holds</summary>
        <p>
          Up to twelve CSV files, each with a header row: {fleetFolderFiles.join(', ')}. A file may be missing. A
          thirteenth, attachments.csv, and the folder attachments beside it bring the scans and photos of tickets.
          Bringing the same folder in twice changes nothing. An import is all or nothing.
        </p>
      </details>
    </SourceChooser>
  )
}

/** Writes the whole record as a fleet folder on this computer. */
function WriteOut() {
  const writing = useMutation(api.folder.writeOut.mutationOptions())
  const written = writing.data
  return (
    <Section className="section" title="Export">
      <p>Writes every record as a fleet folder, which this app and any spreadsheet can read.</p>
      <PathForm
        label="Folder on this computer"
        placeholder="Full path of a new or empty folder"
        action="Export"
        busy={writing.isPending}
        onPath={(folder) => writing.mutate({ folder })}
      />
      {writing.isError && <ProblemNotice title="The folder was not written" error={writing.error} />}
      {written && (
        <Notice kind="done" as="h3" title={`Written to ${written.folder}`}>
          <p>{written.files.map(({ file, rows }) => `${file} ${count(rows)}`).join(' · ')} rows</p>
          {written.leftOut.length > 0 && (
            <ul className="folder-notes">
              {written.leftOut.map((sentence) => (
                <li key={sentence}>{sentence}</li>
              ))}
            </ul>
          )}
          {written.formulaTexts > 0 && (
            <p>
              {counted(written.formulaTexts, 'text begins', 'texts begin')} as a formula does (=, +, - or @) and{' '}
              {written.formulaTexts === 1 ? 'is' : 'are'} written as recorded, so that the folder can be imported again.
              In a spreadsheet, import the columns as text instead of opening the file.
            </p>
          )}
        </Notice>
      )}
    </Section>
  )
}

/** A fleet folder in, with its progress and outcome, and the whole record out. */
export function FolderScreen() {
  const state = useImportState()
  const { phase } = state
  return (
    <div className="page stack folder">
      <ScreenTitle>Fleet folder</ScreenTitle>
      <RightsNote about="Exporting a folder" to="folder.writeOut" />
      <Section className="section" title="Import">
        {(phase === 'idle' || phase === 'cancelled' || phase === 'failed') && (
          <FolderChooser
            onFiles={({ name, files }) => void bringInFiles(name, files)}
            onPath={(path) => void bringInFolder(path)}
          />
        )}
        <ImportProgressNotice as="h3" state={state} onCancel={cancelImport} />
        {phase === 'finished' && (
          <>
            <ImportReport source={state.source} outcome={state.outcome} />
            <Button className="folder-again" onClick={forgetImport}>
              Import another folder
            </Button>
          </>
        )}
      </Section>
      <Section className="section" title="Other CSV files">
        <p>
          Tickets from a scale operator and readings from a sensor app come in any CSV file: say once which column is
          what, and keep that under a name. <a href={hrefOf('foreign')}>Import a CSV file</a>
        </p>
      </Section>
      <WriteOut />
      <Section className="section" title="Copies">
        <p>
          A copy of the whole file is kept every day and before every import.{' '}
          <a href={hrefOf('copies')}>See the copies and restore one</a>
        </p>
      </Section>
    </div>
  )
}
