import { describe, expect, test } from 'vitest'
import { LineCells, foundByCells } from '#core/exchange/line-cells.ts'

const cellsOf = (line: string, width = line.split(',').length): LineCells => {
  const cells = new LineCells(width)
  expect(cells.read(`before\n${line}\nafter`, 7, 7 + line.length)).toBe(true)
  return cells
}

describe('the cells of a line', () => {
  test('are the texts between its commas', () => {
    const cells = cellsOf('R1,,T-7 é,')
    expect([0, 1, 2, 3, -1].map((position) => cells.textOf(position))).toEqual(['R1', '', 'T-7 é', '', ''])
  })

  test('are as many as the header has, or none are read', () => {
    for (const line of ['a', 'a,b,c', '']) expect(new LineCells(2).read(line, 0, line.length)).toBe(false)
    expect(new LineCells(2).read(',', 0, 1)).toBe(true)
  })

  test('are like those of another line where their texts are the same, wherever they stand', () => {
    const one = cellsOf('R1,steer,44.1,none')
    const other = new LineCells(4)
    other.become(cellsOf('R1,drive axle,44.1,none'))
    expect(one.isLike(other, [0, 2, 3])).toBe(true)
    expect(one.isLike(other, [0, 1])).toBe(false)
    expect(one.isLike(cellsOf('R11,steer,44.1,none'), [0])).toBe(false)
  })
})

describe('what was found for cells', () => {
  test('is found again without being asked for, and apart from what only reads the same when joined', () => {
    const asked: string[][] = []
    const find = foundByCells([0, 2], (...texts) => {
      asked.push([...texts])
      return texts[0] === 'gone' ? undefined : texts.join('|')
    })
    for (const line of ['a,1,bc', 'ab,2,c', 'a,3,bc', 'a,,', 'ab,4,c'])
      expect(find(cellsOf(line))).toBe(line.replace(/,.*,/, '|'))
    expect(asked).toEqual([
      ['a', 'bc'],
      ['ab', 'c'],
      ['a', ''],
    ])
    expect(find(cellsOf('gone,,x'))).toBeUndefined()
    expect(find(cellsOf('gone,,x'))).toBeUndefined()
    expect(asked).toHaveLength(5)
  })

  test('stays right when there is more than is remembered, also of long texts', () => {
    const numbers = foundByCells([0], (text = '') => Number(text))
    const cells = new LineCells(1)
    const wrong = [0, 50_000, 0].flatMap((from) =>
      Array.from({ length: 100_000 }, (_, index) => from + index).filter((number) => {
        const text = String(number)
        return !cells.read(text, 0, text.length) || numbers(cells) !== number
      }),
    )
    expect(wrong).toEqual([])
    const long = foundByCells([0], (text = '') => text.length)
    for (const length of [1, 3_000_000, 1_500_000, 1_400_000, 1, 3_000_000])
      expect(long(cellsOf('x'.repeat(length), 1))).toBe(length)
  })
})
