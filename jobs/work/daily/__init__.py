"""The daily log: what adds to it, what reads it, and its pages."""
