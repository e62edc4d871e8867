"""Warranty callbacks: what adds to them, what reads them, and their pages."""
