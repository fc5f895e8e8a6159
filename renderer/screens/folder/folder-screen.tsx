import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count } from '#renderer/parts/format.ts'
import { ImportProgressNotice } from '#renderer/parts/import-progress.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { PathForm, SourceChooser } from '#renderer/parts/source-chooser.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
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
    if (!folder) setComplaint(phrase('That is not a folder. Drop the folder that holds the CSV files.'))
    else if (folder.files.length === 0)
      setComplaint(
        phrase('{name} holds none of the twelve files of a fleet folder.', {
          name: folder.name || phrase('The folder'),
        }),
      )
    else {
      setComplaint('')
      onFiles(folder)
    }
  }

  return (
    <SourceChooser
      choose={phrase('Choose a folder…')}
      heard={phrase('Fleet folder')}
      folder
      typed={{
        label: phrase('Or a folder on this computer'),
        placeholder: phrase('Full path, such as C:\\Fleet\\folder'),
        action: phrase('Import'),
        onPath,
      }}
      onFiles={(files) => take(fromInput(files))}
      onDrop={({ items }) =>
        void fromDrop(items).then(take, () =>
          setComplaint(phrase('The dropped folder could not be read. Choose it instead.')),
        )
      }
    >
      {complaint && (
        <p role="alert" className="folder-complaint">
          {complaint}
        </p>
      )}
      {picked && picked.others.length > 0 && (
        <p className="quiet">{phrase('Left aside: {others}', { others: picked.others.join(', ') })}</p>
      )}
      <details className="folder-files">
        <summary>{phrase('What a fleet folder holds')}</summary>
        <p>
          {phrase(
            'Up to twelve CSV files, each with a header row: {fleetFolderFiles}. A file may be missing. A thirteenth, attachments.csv, and the folder attachments beside it bring the scans and photos of tickets. Importing the same folder twice changes nothing. An import is all or nothing.',
            { fleetFolderFiles: fleetFolderFiles.join(', ') },
          )}
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
    <Section className="section" title={phrase('Export')}>
      <p>{phrase('Writes every record as a fleet folder, which this app and any spreadsheet can read.')}</p>
      <PathForm
        label={phrase('Folder on this computer')}
        placeholder={phrase('Full path of a new or empty folder')}
        action={phrase('Export')}
        busy={writing.isPending}
        onPath={(folder) => writing.mutate({ folder })}
      />
      {writing.isError && <ProblemNotice title={phrase('The folder was not written')} error={writing.error} />}
      {written && (
        <Notice kind="done" as="h3" title={phrase('Written to {folder}', { folder: written.folder })}>
          <p>
            {phrase('{files} rows', {
              files: written.files.map(({ file, rows }) => `${file} ${count(rows)}`).join(' · '),
            })}
          </p>
          {written.leftOut.length > 0 && (
            <ul className="folder-notes">
              {written.leftOut.map((sentence) => (
                <li key={sentence}>{sentence}</li>
              ))}
            </ul>
          )}
          {written.formulaTexts > 0 && (
            <p>
              {phrase(
                '{formulaTexts, plural, one {# text begins} other {# texts begin}} as a formula does (=, +, - or @) and {formulaTexts, plural, one {is} other {are}} written as recorded, so that the folder can be imported again. In a spreadsheet, import the columns as text instead of opening the file.',
                { formulaTexts: written.formulaTexts },
              )}
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
      <ScreenTitle>{phrase('Fleet folder')}</ScreenTitle>
      <RightsNote about={phrase('Exporting a folder')} to="folder.writeOut" />
      <Section className="section" title={phrase('Import')}>
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
              {phrase('Import another folder')}
            </Button>
          </>
        )}
      </Section>
      <Section className="section" title={phrase('Other CSV files')}>
        <p>
          <Phrase
            text="Tickets from a scale operator and readings from a sensor app come in any CSV file: say once which column is what, and keep that under a name. <link>Import a CSV file</link>"
            with={{ link: (words) => <a href={hrefOf('foreign')}>{words}</a> }}
          />
        </p>
      </Section>
      <WriteOut />
      <Section className="section" title={phrase('Copies')}>
        <p>
          <Phrase
            text="A copy of the whole file is kept every day and before every import. <link>See the copies and restore one</link>"
            with={{ link: (words) => <a href={hrefOf('copies')}>{words}</a> }}
          />
        </p>
      </Section>
    </div>
  )
}
