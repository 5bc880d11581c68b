"""The engine: readings and limits in, a verdict out. Pure; standard library only."""

ENGINE = "2"
"""The engine version: raised whenever any verdict, figure or text could come out differently."""
