import { Button, TextInput } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import { api } from '#renderer/client/api.ts'
import { count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

/** Writes the whole record as a fleet folder on this computer. */
export function WriteOut() {
  const [folder, setFolder] = useState('')
  const writing = useMutation(api.folder.writeOut.mutationOptions())
  return (
    <section className="folder-section" aria-labelledby="write-out-title">
      <h2 id="write-out-title">Write out</h2>
      <p>Writes every record as a fleet folder, which this app and any spreadsheet can read.</p>
      <form
        className="chooser-path"
        onSubmit={(event) => {
          event.preventDefault()
          if (folder.trim()) writing.mutate({ folder: folder.trim() })
        }}
      >
        <TextInput
          label="Folder on this computer"
          placeholder="Full path of a new or empty folder"
          value={folder}
          onChange={(event) => setFolder(event.currentTarget.value)}
        />
        <Button type="submit" variant="default" disabled={!folder.trim()} loading={writing.isPending}>
          Write out
        </Button>
      </form>
      {writing.isError && <ProblemNotice title="The folder was not written" error={writing.error} />}
      {writing.data && (
        <div className="notice" data-kind="done" role="status">
          <h3 className="notice-title">Written to {writing.data.folder}</h3>
          <p>{writing.data.files.map(({ file, rows }) => `${file} ${count(rows)}`).join(' · ')} rows</p>
          {writing.data.leftOut.length > 0 && (
            <ul className="folder-notes">
              {writing.data.leftOut.map((sentence) => (
                <li key={sentence}>{sentence}</li>
              ))}
            </ul>
          )}
          {writing.data.formulaTexts > 0 && (
            <p>
              {count(writing.data.formulaTexts)} {writing.data.formulaTexts === 1 ? 'text begins' : 'texts begin'} as a
              formula does (=, +, - or @) and {writing.data.formulaTexts === 1 ? 'is' : 'are'} written as recorded, so
              that the folder can be brought in again. In a spreadsheet, import the columns as text instead of opening
              the file.
            </p>
          )}
        </div>
      )}
    </section>
  )
}
